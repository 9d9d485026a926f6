package rules_test

import (
	"testing"

	"ferrule/rules/rulestest"
)

func TestRoom(t *testing.T) { rulestest.Room(t) }
