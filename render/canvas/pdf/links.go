package pdf

import (
	"ferrule/render/canvas"
	"ferrule/render/font"
	"ferrule/render/geom"
)

// A target is a place that links lead to: a page, counted from 1, and a distance from its top edge.
type target struct {
	page int
	y    geom.Length
}

// targetsIn collects the places by name: the pages first, then the first anchor of each name.
func targetsIn(pages []*canvas.Page) map[string]target {
	targets := map[string]target{}
	for i, p := range pages {
		targets[p.Name] = target{page: i + 1}
	}
	for i, p := range pages {
		for _, o := range p.Ops {
			if _, taken := targets[o.Target]; o.Kind == canvas.OpAnchor && !taken {
				targets[o.Target] = target{page: i + 1, y: o.Points[0].Y}
			}
		}
	}
	return targets
}

// linkTo returns the file's number for a link to the target, and whether there is such a target.
func (d *drawing) linkTo(name string) (int, bool) {
	if number, known := d.links[name]; known {
		return number, true
	}
	to, ok := d.targets[name]
	if !ok {
		return 0, false
	}
	number := d.out.AddLink()
	d.out.SetLink(number, to.y.Mm(), to.page)
	d.links[name] = number
	return number, true
}

// bookmark adds the outline entry of the page that was just begun. The writer counts the height of every entry from the
// top of the last page, whichever page the entry leads to; the difference of the two heights puts that right. It takes
// -1 for "where the pen is", hence the hair's breadth.
func (d *drawing) bookmark(p *canvas.Page, lastHeight geom.Length) {
	y := lastHeight - p.Size.Y
	if y == -geom.MM {
		y -= geom.Micrometre
	}
	title := p.Title
	if title == "" {
		title = p.Name
	}
	d.out.Bookmark(font.Drawable(title), 0, y.Mm())
}
