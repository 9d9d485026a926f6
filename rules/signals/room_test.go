package signals_test

import (
	"testing"

	"ferrule/rules/rulestest"
	_ "ferrule/rules/signals"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
