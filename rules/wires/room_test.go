package wires_test

import (
	"testing"

	"ferrule/rules/rulestest"
	_ "ferrule/rules/wires"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
