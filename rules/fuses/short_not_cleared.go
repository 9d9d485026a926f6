package fuses

import (
	"fmt"
	"math"
	"slices"

	"ferrule/netlist/circuit/study"
	"ferrule/netlist/diag"
	"ferrule/netlist/fusecurve"
	"ferrule/netlist/model"
	"ferrule/netlist/unit"
	"ferrule/rules"
)

var _ = rules.Register(&rules.Rule{
	Name: "short-not-cleared", Severity: diag.Error, Harm: rules.Burns, Since: "0.2",
	Late:  true,
	Title: "a short at the far end of a wire does not open its fuse in time",
	Doc: `In the vehicle a long thin run through three switches and a connector has so much resistance that a chafe at its end draws hardly
more than the fuse carries. The fuse takes minutes, and the run heats all that time. The rule takes the fault study: a dead
short to ground at the far end of every wire, with a weak battery (12.0 V, 20 milliohms) and hot wires. It fires where the
current is less than 2.5 times the rating; below 1.6 times, or where the fuse lets through more energy than the insulation
of a wire on the way survives, it is an error. One finding a fuse, about the worst of its wires. Where several fuses feed a short, as
those of a cable between two batteries, each is held against its own share.

Take a smaller fuse if the loads allow it, thicker or shorter wire, or a fuse nearer to the load.

Silent are shorts above 2.5 times the rating (3.5 is what one wants: ferrule faults lists them), wires behind a load or coil,
ground conductors, the starter cable, wires without a fuse (unfused-feed), families of which there is no table, such as
electronic fuses, which have a curve of their own.`,
	Sources: []string{
		"common practice: at least 3.5 times the rating, weak below 2.5, bad below 1.6",
		"IEC 60364-5-54, IEC 60949: what insulation survives (testdata/reference/adiabatic-k.csv)",
		"ISO 8820-3, ISO 8820-5, DIN 72581-3: operating times (testdata/reference/fuse-time-current.csv, in part from memory)",
	},
	Bad: farShort("10 A"), Good: farShort("5 A"),
	Run: func(p *rules.Pass) {
		worst := map[*model.Part]*study.Short{}
		count := map[*model.Part]int{}
		shorts := p.Shorts()
		for i := range shorts {
			s := &shorts[i]
			if s.Device == nil || s.Verdict != study.NotCleared && s.Verdict != study.SlowlyOpened {
				continue
			}
			if _, known := curveOf(s.Device); !known {
				continue
			}
			count[s.Device]++
			if old := worst[s.Device]; old == nil || s.Verdict < old.Verdict || s.Verdict == old.Verdict && s.Ratio < old.Ratio-1e-9 {
				worst[s.Device] = s
			}
		}
		for _, part := range p.Netlist.Parts {
			if s := worst[part]; s != nil {
				farEnd(p, s, count[part])
			}
		}
	},
})

func farShort(rating string) string {
	return `[part]
BAT1 = { kind = "battery", capacity = "60 Ah" }
F1 = { kind = "fuse", rating = "` + rating + `", family = "blade" }
E1 = { kind = "lamp", load = "21 W" }
[link]
BAR = { joins = ["BAT1:+", "F1:1"] }
[wire]
W1 = { from = "F1:2", to = "E1:1", size = "20 AWG", length = "15 m" }
W2 = { from = "E1:2", to = "BAT1:-", size = "10 AWG", length = "1 m" }
`
}

func farEnd(p *rules.Pass, s *study.Short, count int) {
	severity := diag.Error
	if s.Verdict == study.SlowlyOpened {
		severity = diag.Warning
	}
	slow := "may take " + seconds(unit.Second(s.Slowest)) + " to open"
	if math.IsInf(s.Slowest, 1) {
		slow = "need not open"
	}
	_, span := ratingOf(s.Device)
	refs := []string{s.Device.Name.Text, s.Wire.Name.Text}
	d := p.ReportAs(severity, span, refs, "a short at the far end of wire %s (%s) draws %s in %s%s, %s times %s, which %s",
		s.Wire.Name.Text, p.Netlist.Pin(s.Far), unit.Ampere(s.Amps), stateText(p, s.State), ofWhich(s), unit.Format(s.Ratio), called(s.Device), slow)
	if s.Ratio >= study.BadRatio && s.LetThrough > s.Withstand && s.Weakest != nil {
		d.Message += fmt.Sprintf(": it passes %s A2s, and the insulation of %s survives %s", unit.Format(s.LetThrough), s.Weakest.Name.Text, unit.Format(s.Withstand))
		d.Refs = append(d.Refs, s.Weakest.Name.Text)
	}
	if count > 1 {
		d.Message += fmt.Sprintf("; %d wires behind it are alike", count)
	}
	length := "of unknown length"
	if m, known := p.Routes.Length(s.Wire); known {
		length = fmt.Sprintf("%s long", m)
	}
	d.Help = fmt.Sprintf("take thicker or shorter wire on the way, or a smaller fuse: %.3g A would be 3.5 times less than the short", through(s)/study.WantRatio)
	if smaller := clearing(p, s); smaller > 0 {
		d.Help = fmt.Sprintf("write rating = %q, which the loads allow, or take thicker or shorter wire on the way", smaller.String())
		d.Fixes = p.Rerate(s.Device, smaller, false)
	}
	d.Related = append(d.Related, diag.Related{Span: s.Wire.Name.Span, Message: fmt.Sprintf("wire %s is %s, %s", s.Wire.Name.Text, s.Wire.Size, length)})
}

// through is the current that the device gets of a short: all of it, or its share where others feed the short too.
func through(s *study.Short) float64 {
	rating, _ := ratingOf(s.Device)
	return s.Ratio * float64(rating)
}

// ofWhich says what share of a short the device gets, where others feed it too.
func ofWhich(s *study.Short) string {
	i := slices.IndexFunc(s.Feeds, func(f study.Feed) bool { return f.Device == s.Device })
	if i < 0 || math.Abs(through(s)-s.Amps) < 0.01*s.Amps {
		return ""
	}
	if s.Feeds[i].Alone {
		return fmt.Sprintf(", and %s through this fuse once the others are open", unit.Ampere(through(s)))
	}
	return fmt.Sprintf(", %s of it through this fuse", unit.Ampere(through(s)))
}

// clearing is the largest smaller rating that the short clears and the loads allow; 0 when there is none.
func clearing(p *rules.Pass, s *study.Short) unit.Ampere {
	f := studies(p)[s.Device]
	if f == nil || s.Ratio >= study.BadRatio && s.LetThrough > s.Withstand {
		return 0
	}
	best := unit.Ampere(0)
	for _, r := range fusecurve.StandardRatings(f.Family) {
		if r < f.Rating && r >= f.Least && through(s) >= study.WarnRatio*float64(r) {
			best = r
		}
	}
	return best
}
