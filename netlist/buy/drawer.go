package buy

import (
	"fmt"
	"math"
	"strings"

	"ferrule/netlist/diag"
	"ferrule/netlist/model"
)

// Unused is a drawer entry that takes nothing off the list.
type Unused struct {
	Entry *model.DrawerEntry
	Why   string // "nothing on the buy list is called so"
	Near  string // the item that was probably meant; empty for none
	Help  string // what to write

	WrongUnit bool // the item is there, and counted otherwise
}

// takeOff takes what is in hand off the items, and keeps what matches none.
func (c *collector) takeOff(drawer []*model.DrawerEntry) {
	if len(drawer) == 0 {
		return
	}
	byText := make(map[string]*Item, len(c.list.Items))
	for _, it := range c.list.Items {
		byText[model.PlainItem(it.Text)] = it
	}
	for _, e := range drawer {
		it := byText[model.PlainItem(e.Item.Text)]
		switch {
		case it == nil:
			c.list.Unused = append(c.list.Unused, c.unmatched(e))
		case it.Metres != e.Length:
			c.list.Unused = append(c.list.Unused, wrongUnit(e, it))
		default:
			it.Entry, it.Have = e, e.Amount
			it.Buy = max(0, math.Ceil(it.Need-it.Have-whole))
		}
	}
}

func wrongUnit(e *model.DrawerEntry, it *Item) Unused {
	if it.Metres {
		return Unused{e, it.Text + " is bought by the metre, and a number of pieces stands here", it.Text, fmt.Sprintf(`write how long it is: "%g m"`, e.Amount), true}
	}
	return Unused{e, it.Text + " is bought by the piece, and a length stands here", it.Text, "write how many there are: 4, without quotes", true}
}

func (c *collector) unmatched(e *model.DrawerEntry) Unused {
	u := Unused{Entry: e, Why: fmt.Sprintf("nothing on the buy list is called %q", e.Item.Text), Help: "`ferrule list FILE buy` has the names; take the line out when the harness has no use for it"}
	if u.Near = c.near(e.Item.Text); u.Near != "" {
		u.Help = fmt.Sprintf("did you mean %q?", u.Near)
	}
	return u
}

// near returns the item that was probably meant: the one that holds all words of the entry and the fewest others, else the one that
// differs by a few letters.
func (c *collector) near(text string) string {
	words := strings.Fields(model.PlainItem(text))
	best, extra := "", math.MaxInt
	var names []string
	for _, it := range c.list.Items {
		names = append(names, it.Text)
		have := strings.Fields(model.PlainItem(it.Text))
		if more := len(have) - len(words); more < extra && holds(have, words) {
			best, extra = it.Text, more
		}
	}
	if best != "" {
		return best
	}
	near, _ := diag.Nearest(text, names)
	return near
}

// holds reports whether all words are among those had, each as often.
func holds(have, words []string) bool {
	left := map[string]int{}
	for _, w := range have {
		left[w]++
	}
	for _, w := range words {
		if left[w]--; left[w] < 0 {
			return false
		}
	}
	return len(words) > 0
}
