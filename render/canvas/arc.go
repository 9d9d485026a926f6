package canvas

// CounterClockwise returns the same arc with a start from 0 to 359 and a sweep from 0 to 360 degrees: one that runs
// clockwise is started from its other end, and more than a whole turn is one turn. Formats that draw arcs need it in
// that form.
func CounterClockwise(start, sweep Degrees) (from, through Degrees) {
	// 64 bits, because a start and a sweep near the ends of their range add up to more than 32 hold.
	s, w := int64(start), int64(sweep)
	if w < 0 {
		s, w = s+w, -w
	}
	return Degrees((s%360 + 360) % 360), Degrees(min(w, 360))
}
