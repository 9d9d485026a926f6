package fusecurve

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/unit"
)

// A Band is the fastest and the slowest operating time that a standard allows. Min is infinite where the fuse must hold, Max where
// it need not open.
type Band struct{ Min, Max unit.Second }

// A Point is one limit of a standard: at Share of the rating (1.35 is 135 %) the fuse opens within Band. A side that the
// standard leaves open is 0 in Min and infinite in Max.
type Point struct {
	Share float64
	Band  Band
}

// A Curve is the band of operating times of a fuse. Of makes one; the zero Curve is a fuse that never opens.
type Curve struct {
	Family Family
	Rating unit.Ampere
	points []Point // by Share, the first the holding point
}

// Of returns the curve of a fuse from the family and the rating that its part states. assumed reports that the band is not known
// to be this fuse's: the family is not stated or not known and was taken from the rating (blade up to 40 A, bolt-in above), or the
// standard has no such rating and the nearest ratings' band was taken. A rating that is not a positive number gives a curve that never
// opens, and a Source that is not set.
func Of(family string, rating unit.Ampere) (curve *Curve, source Source, assumed bool) {
	f, assumed := familyOf(family, rating)
	if !isRating(rating) {
		return &Curve{Family: f}, Source{}, assumed
	}
	c := &Curve{Family: f, Rating: rating}
	tableRating := nearestRating(f, rating)
	verified := true
	for _, r := range timeCurrent() {
		if r.fuseType == families[f].row && r.least <= tableRating && tableRating <= r.most {
			c.add(r)
			verified = verified && r.verified
		}
	}
	slices.SortFunc(c.points, func(a, b Point) int { return cmp.Compare(a.Share, b.Share) })
	source = Source{fmt.Sprintf("%s, operating times of %s", standards[f], f), verified}
	switch {
	case tableRating != rating:
		source = Source{fmt.Sprintf("%s; made for other ratings: the band of %s is taken", source.Title, tableRating), false}
		assumed = true
	case assumed:
		source = Source{source.Title + "; the family is assumed from the rating", false}
	}
	return c, source, assumed
}

// standards names the documents behind the rows of each family.
var standards = [...]string{
	Blade:            "ISO 8820-3:2002 type C (to 30 A from memory in part)",
	MiniBlade:        "ISO 8820-3:2002 type F (from memory in part)",
	HighCurrentBlade: "DIN 72581-3 form E, ISO 8820-3:2002",
	BoltIn:           "ISO 8820-5, from memory",
}

// nearestRating returns the rating itself when the table has a family's band for it, else the nearest rating that it has one for.
func nearestRating(f Family, rating unit.Ampere) unit.Ampere {
	nearest, distance := rating, math.Inf(1)
	for _, r := range timeCurrent() {
		if r.fuseType != families[f].row {
			continue
		}
		candidate := min(max(rating, r.least), r.most)
		if d := math.Abs(float64(candidate - rating)); d < distance {
			nearest, distance = candidate, d
		}
	}
	return nearest
}

// add puts a row into the curve. Where there is a point at its share already, the wider band of both is kept.
func (c *Curve) add(r row) {
	band := Band{r.min, r.max}
	if r.max == 0 {
		band.Max = unit.Second(math.Inf(1))
	}
	for i := range c.points {
		if p := &c.points[i]; p.Share == r.share {
			p.Band = Band{min(p.Band.Min, band.Min), max(p.Band.Max, band.Max)}
			return
		}
	}
	c.points = append(c.points, Point{r.share, band})
}

// Points returns the limits of the standard that the curve goes through, from the smallest share of the rating. The first is the
// holding point. The caller may keep and change the slice.
func (c *Curve) Points() []Point { return slices.Clone(c.points) }

// Times returns the fastest and the slowest time in which the fuse opens at a steady current of either sign. Both are infinite
// below the holding point, and the slowest up to the first share at which the standard asks for opening; see the package comment
// for the way between and beyond the points. Neither is ever NaN; a current that is no number does not open a fuse.
func (c *Curve) Times(current unit.Ampere) (fastest, slowest unit.Second) {
	never := unit.Second(math.Inf(1))
	share := c.snap(math.Abs(float64(current / c.Rating)))
	if len(c.points) == 0 || !(share >= c.points[0].Share) {
		return never, never
	}
	minSide := func(p Point) unit.Second { return p.Band.Min }
	maxSide := func(p Point) unit.Second { return p.Band.Max }
	return c.side(share, minSide, constantEnergy), c.side(share, maxSide, constantTime)
}

// snap puts a share that is a point's but for the rounding of the division, 1e-9 of it, onto the point: 1.35 times the rating
// must be the point at 135 % whatever the rating.
func (c *Curve) snap(share float64) float64 {
	for _, p := range c.points {
		if math.Abs(share-p.Share) <= 1e-9*p.Share {
			return p.Share
		}
	}
	return share
}

// constantEnergy and constantTime lead a side on beyond its last point; growth is the current over that of the point.
func constantEnergy(t unit.Second, growth float64) unit.Second {
	return t / unit.Second(growth) / unit.Second(growth)
}

func constantTime(t unit.Second, _ float64) unit.Second { return t }

// side interpolates one side of the band at a share of the rating. Points at which the standard gives no limit of that side are
// passed over; before the first limit the side is infinite.
func (c *Curve) side(share float64, limit func(Point) unit.Second, beyond func(unit.Second, float64) unit.Second) unit.Second {
	var before *Point
	for i := range c.points {
		p := &c.points[i]
		if t := limit(*p); t == 0 || math.IsInf(float64(t), 1) {
			continue
		}
		switch {
		case p.Share == share:
			return limit(*p)
		case p.Share > share && before == nil:
			return unit.Second(math.Inf(1))
		case p.Share > share:
			return logLog(share, before.Share, p.Share, limit(*before), limit(*p))
		}
		before = p
	}
	if before == nil {
		return unit.Second(math.Inf(1))
	}
	return beyond(limit(*before), share/before.Share)
}

// logLog interpolates between two times on logarithmic axes.
func logLog(share, share1, share2 float64, t1, t2 unit.Second) unit.Second {
	along := math.Log(share/share1) / math.Log(share2/share1)
	return t1 * unit.Second(math.Pow(float64(t2/t1), along))
}
