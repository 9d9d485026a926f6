package nets_test

import (
	"testing"

	_ "ferrule/rules/nets"
	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
