// Package sheet draws the sheets.
//
// A sheet takes what it shows as data and draws itself once onto a canvas, inside the frame and above the title block that
// all sheets share (Frame). Paper says how much room there is (Area). The package may import render/canvas, render/layout
// and what those may import, and netlist/circuit; findings reach it as data. It opens no file and knows no output format.
package sheet
