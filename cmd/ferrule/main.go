package main

import (
	"os"

	"ferrule/cmd/ferrule/internal/command"
	_ "ferrule/cmd/ferrule/internal/early" // has run the command by now if it draws nothing
)

func main() {
	os.Exit(command.Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr, os.Getenv, drawing))
}
