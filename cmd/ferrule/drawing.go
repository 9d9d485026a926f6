package main

import (
	"ferrule/cmd/ferrule/internal/command"
	"ferrule/render"
	"ferrule/render/sheet"
)

// drawing is the drawing side as the commands know it.
var drawing = &command.Drawing{Build: build, Sheets: sheets, Draw: draw, Lists: lists, ListNames: render.ListNames, List: oneList}

func build(in command.Drawn) ([]command.File, error) {
	made, err := render.Build(input(in))
	var files []command.File
	for _, f := range made {
		files = append(files, command.File(f))
	}
	return files, err
}

func sheets(in command.Drawn) []command.Sheet {
	var list []command.Sheet
	for _, s := range render.Sheets(input(in)) {
		list = append(list, command.Sheet(s))
	}
	return list
}

func draw(in command.Drawn, name, format string) ([]byte, error) {
	return render.Draw(input(in), name, format)
}

func lists(in command.Drawn) []command.List {
	var infos []command.List
	for _, l := range render.Lists(input(in)) {
		infos = append(infos, command.List(l))
	}
	return infos
}

func oneList(in command.Drawn, name, format string) ([]byte, error) {
	return render.List(input(in), name, format)
}

func input(in command.Drawn) render.Input {
	input := render.Input{Graph: in.Graph, Findings: in.Findings, Built: in.Built, Program: in.Program, Print: render.Print{Gray: in.Gray, Tile: in.Tile, Paper: in.Paper}, Say: in.Say}
	for _, a := range in.Accepted {
		input.Accepted = append(input.Accepted, sheet.Accepted(a))
	}
	return input
}
