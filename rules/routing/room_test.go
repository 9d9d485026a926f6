package routing_test

import (
	"testing"

	_ "ferrule/rules/routing"
	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
