package command

import (
	"ferrule/netlist/built"
	"ferrule/netlist/model"
)

// The JSON of next. Lengths are metres; what is not stated is left out.
type nextObject struct {
	Version  int            `json:"version"`
	Harness  string         `json:"harness"`
	Revision string         `json:"revision"`
	Progress progressObject `json:"progress"`
	Cut      []benchObject  `json:"cut"`
	Crimp    []benchObject  `json:"crimp"`
	Install  []benchObject  `json:"install"`
	Test     []benchObject  `json:"test"`
	Older    []olderObject  `json:"older"`
	Removed  []pieceObject  `json:"removed"`
}

type progressObject struct {
	Wires     int `json:"wires"`
	CutHere   int `json:"cut_here"`
	Cut       int `json:"cut"`
	Crimped   int `json:"crimped"`
	Installed int `json:"installed"`
	Tested    int `json:"tested"`
	Older     int `json:"older"`
	Removed   int `json:"removed"`
}

type madeObject struct {
	Size    string  `json:"size,omitempty"`
	Color   string  `json:"color,omitempty"`
	From    string  `json:"from,omitempty"`
	To      string  `json:"to,omitempty"`
	LengthM float64 `json:"length_m,omitempty"`
}

type benchObject struct {
	Wire string `json:"wire"`
	madeObject
}

// A pieceObject is a wire that has been made.
type pieceObject struct {
	Wire     string     `json:"wire"`
	Stage    string     `json:"stage"`
	Revision string     `json:"revision"`
	Built    madeObject `json:"built"`
	Text     string     `json:"text"`
	Do       string     `json:"do"`
}

type olderObject struct {
	pieceObject
	Differences []differenceObject `json:"differences"`
}

type differenceObject struct {
	What  string `json:"what"`
	Built string `json:"built"`
	Now   string `json:"now"`
	Do    string `json:"do"`
}

func (w *work) plain() nextObject {
	h, p := w.status.Harness, &w.progress
	o := nextObject{
		Version: 1, Harness: h.File, Revision: h.Netlist.Harness.Revision.Text,
		Progress: progressObject{p.Wires, p.Here, p.Reached[built.Cut], p.Reached[built.Crimped], p.Reached[built.Installed], p.Reached[built.Tested], p.Older, p.Removed},
		Cut:      w.plainWires(built.Cut), Crimp: w.plainWires(built.Crimped), Install: w.plainWires(built.Installed), Test: w.plainWires(built.Tested),
		Older: []olderObject{}, Removed: []pieceObject{},
	}
	for _, older := range w.status.Older() {
		piece := olderObject{pieceObject: plainPiece(older.Record, older.Says(), older.Do())}
		for _, d := range older.Differences {
			piece.Differences = append(piece.Differences, differenceObject(d))
		}
		o.Older = append(o.Older, piece)
	}
	for _, r := range w.status.Removed() {
		o.Removed = append(o.Removed, plainPiece(r, r.Says(), r.PutAway()))
	}
	return o
}

func (w *work) plainWires(stage built.Stage) []benchObject {
	wires := make([]benchObject, 0, len(w.next[stage]))
	for _, wire := range w.next[stage] {
		wires = append(wires, plainWire(wire, w.status.Harness.Of(wire)))
	}
	return wires
}

func plainWire(w *model.Wire, m built.Made) benchObject {
	return benchObject{w.Name.Text, plainMade(m)}
}

func plainMade(m built.Made) madeObject {
	return madeObject{m.Size.String(), m.Color, m.From, m.To, float64(m.Length)}
}

func plainPiece(r *built.Record, text, do string) pieceObject {
	return pieceObject{r.Name.Text, r.Stage.String(), r.Revision.Text, plainMade(r.Made), text, do}
}
