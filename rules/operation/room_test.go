package operation_test

import (
	"testing"

	_ "ferrule/rules/operation"

	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
