package switching_test

import (
	"testing"

	_ "ferrule/rules/switching"

	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
