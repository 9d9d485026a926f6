package canvas

import "ferrule/render/geom"

// Moved returns the page with everything on it moved by d; its size stays.
func Moved(p *Page, d geom.Point) *Page {
	moved := &Page{Name: p.Name, Title: p.Title, Size: p.Size, Ops: make([]Op, len(p.Ops))}
	for i, o := range p.Ops {
		points := make(geom.Polyline, len(o.Points))
		for j, point := range o.Points {
			points[j] = point.Add(d)
		}
		o.Points, o.Area, o.Text.At = points, o.Area.Move(d), o.Text.At.Add(d)
		moved.Ops[i] = o
	}
	return moved
}
