package buy

import (
	"fmt"
	"strconv"
	"strings"

	"ferrule/netlist/model"
)

// housings adds housings with their locks and the plugs of their empty cavities.
func (c *collector) housings() {
	for _, con := range c.Netlist.Connectors {
		if c.comesAlong(con) {
			continue
		}
		text := housingText(con)
		c.add(Item{Group: Housings, Text: text, Spec: c.housingSpec(con), rank: float64(len(con.Owner.Pins))}, 1, con.Name.Text)
		if !con.Family.IsSet() {
			c.lack("housing without a family", `family = "sealed 1.5, 2 way": the housing's own series, so that the right one is bought`, con.Name)
		}
		if con.Lock.IsSet() {
			c.add(Item{Group: Housings, Text: "lock " + con.Lock.Text + " for " + strings.TrimPrefix(text, "housing "), Spec: "second lock of the terminals",
				rank: float64(len(con.Owner.Pins))}, 1, con.Name.Text)
		}
		if con.Sealed.On {
			c.plugs(con)
		}
	}
}

// comesAlong reports whether all wires of a connector come with a kit, and its housing with them.
func (c *collector) comesAlong(con *model.Connector) bool {
	wired := false
	for _, id := range con.Owner.Pins {
		if len(c.made(id)) > 0 {
			return false
		}
		wired = wired || len(c.ends[id]) > 0
	}
	return wired
}

// housingText names a housing by its family, or else by its number of cavities.
func housingText(con *model.Connector) string {
	text := "housing " + con.Family.Text
	if !con.Family.IsSet() {
		text = fmt.Sprintf("housing %d way", len(con.Owner.Pins))
		if con.Sealed.On {
			text += " sealed"
		}
	}
	if contacts := contactsOf(con); contacts != "" {
		text += ", for " + contacts + "s"
	}
	if con.Key.IsSet() {
		text += ", key " + con.Key.Text
	}
	return text
}

func (c *collector) housingSpec(con *model.Connector) string {
	words := []string{strconv.Itoa(len(con.Owner.Pins)) + " cavities"}
	if len(con.Rows) > 0 {
		var rows []string
		for _, r := range con.Rows {
			n := 0
			for _, cavity := range r {
				if cavity != "" {
					n++
				}
			}
			rows = append(rows, strconv.Itoa(n))
		}
		words[0] += " (" + strings.Join(rows, " + ") + ")"
	}
	if con.Sealed.On {
		words = append(words, "sealed")
	} else {
		words = append(words, "not sealed")
	}
	if terminals := c.terminalsIn(con); terminals != "" {
		words = append(words, "takes "+terminals)
	}
	if con.Part != nil && con.Part.Supplied.On {
		words = append(words, "see whether "+con.Part.Name.Text+" brings it")
	}
	return strings.Join(words, ", ")
}

// terminalsIn lists the terminals that the cavities of a connector take.
func (c *collector) terminalsIn(con *model.Connector) string {
	var names []string
	seen := map[*model.Terminal]bool{}
	for _, id := range con.Owner.Pins {
		if t := c.Netlist.Pin(id).Terminal; t != nil && !seen[t] {
			seen[t] = true
			names = append(names, t.Name.Text)
		}
	}
	return strings.Join(names, " and ")
}

// plugs adds the plugs of cavities that no wire goes to.
func (c *collector) plugs(con *model.Connector) {
	for _, id := range con.Owner.Pins {
		if len(c.ends[id]) > 0 {
			continue
		}
		item := Item{Group: Seals, Text: "cavity plug", Spec: "cavity size not stated", Reserve: share(c.Netlist.Reserve.Terminals, crimpReserve), rank: plugRank}
		if t := c.Netlist.Pin(id).Terminal; t != nil {
			item.Text, item.Spec = "cavity plug "+t.Name.Text, "for the empty cavities of "+t.Name.Text
			item.Reserve = c.crimpReserve(t)
		} else {
			c.lack("sealed housing whose empty cavities have no terminal, so that their plug is not known", `terminal = "NAME" for the connector`, con.Name)
		}
		c.add(item, 1, con.Name.Text)
	}
}

// plugRank puts plugs behind seals, which are ranked by their diameter in metres.
const plugRank = 1
