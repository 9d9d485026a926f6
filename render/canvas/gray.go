package canvas

// Gray returns the page as a printer without colour should get it: every colour by its brightness. What is to be told
// apart in grey has to be told apart by more than its colour anyway; this spares the printer the guess.
func Gray(p *Page) *Page {
	gray := &Page{Name: p.Name, Title: p.Title, Size: p.Size, About: p.About, Ops: make([]Op, len(p.Ops))}
	for i, o := range p.Ops {
		o.Stroke.Color, o.Fill.Color, o.Text.Color = o.Stroke.Color.Gray(), o.Fill.Color.Gray(), o.Text.Color.Gray()
		gray.Ops[i] = o
	}
	return gray
}

// Gray returns the grey of the same brightness (Luma).
func (c Color) Gray() Color {
	luma := uint8(c.Luma())
	return Color{R: luma, G: luma, B: luma}
}
