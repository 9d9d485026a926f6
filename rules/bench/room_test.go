package bench_test

import (
	"testing"

	_ "ferrule/rules/bench"
	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
