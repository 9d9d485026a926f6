package fuses_test

import (
	"testing"

	_ "ferrule/rules/fuses"
	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
