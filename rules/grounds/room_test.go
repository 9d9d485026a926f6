package grounds_test

import (
	"testing"

	_ "ferrule/rules/grounds"
	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
