package terminals_test

import (
	"testing"

	"ferrule/rules/rulestest"
	_ "ferrule/rules/terminals"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
