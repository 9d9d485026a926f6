// Package fusecurve knows how fast a fuse opens: the fastest and the slowest time that its standard allows at a current, its
// cold resistance, what it may carry continuously where it is hot, and whether two fuses in a row are selective.
//
// It takes the family that a part states ("blade", "bolt-in") and its rating, and gives the band of operating times of ISO
// 8820-3 and 8820-5 and DIN 72581-3, with its Source. It knows nothing of parts, circuits or files, and imports only netlist/unit.
//
// A band has two sides, and each question has its own. Whether a wire is protected is a question to the slowest time. Whether a
// fuse opens on an inrush, and whether it opens before the one behind it, are questions to the fastest time. Neither is a
// typical time.
//
// The standard gives the two limits at five or six multiples of the rating; between them both sides are interpolated on
// logarithmic axes. Outside:
//
//   - Up to the holding point (100 % or 110 % of the rating, where the standard asks for 100 h or 4 h) a fuse does not open:
//     both times are infinite below it.
//   - From the holding point to the first limit (135 %) it may open and need not: the slowest time is infinite.
//   - Above the last point the fastest time goes on at constant I2t, for the element then melts with no heat lost; a real
//     fuse may still be a little faster there, so a margin belongs to it (Selective takes one). The slowest time stays what it is
//     at the last point: a larger current does not make a fuse slower, so that is the safe side.
//
// The table is an embedded copy of the columns needed from testdata/reference; every row keeps its status and source. Where
// rows disagree, the wider band is taken. Much of it is from memory, and Source.Verified says so.
package fusecurve
