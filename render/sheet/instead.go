package sheet

import (
	"fmt"
	"strings"

	"ferrule/netlist/buy"
)

// insteadTable proposes wire of another colour that is in hand. Who takes it decides, and tags every end; the list above does not count it.
func insteadTable(list []buy.Instead) table {
	t := table{title: "Another colour that is in hand: a proposal", heads: []string{"In place of", "In hand", ""}}
	t.rows = append(t.rows, row{span: true, cells: []cell{say("Same size, class and metal, and enough of it for one of the reels it is named for. Nothing is taken off above. " +
		"Every end of such a wire gets a tag with the colour of the netlist, and the netlist gets the colour that is in the vehicle. Colours kept for ground and permanent supply never stand in.")}})
	for i := range list {
		t.rows = append(t.rows, row{cells: []cell{sayBold(list[i].For.Text), say(InsteadText(&list[i])), {{mark: boxMark}}}})
	}
	return t
}

// InsteadText words one proposal: what is in hand, and beside which wires of the same colour it would lie.
func InsteadText(i *buy.Instead) string {
	text := fmt.Sprintf("%s, %.4g m to spare, tagged %s at both ends", i.Color, i.Spare, strings.Fields(i.For.Text)[3])
	if len(i.Clashes) > 0 {
		text += "; same colour beside it at " + strings.Join(i.Clashes, ", ")
	}
	return text
}
