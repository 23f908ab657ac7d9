package wear

import (
	"fmt"
	"slices"
	"strings"
)

// spoken names a part at the start of a sentence, with its verb.
var spoken = map[Part]string{Covering: "The covering rates", Flashing: "The flashing rates", Gutter: "The gutters rate"}

// from names a method within a sentence.
var from = map[Method]string{Walked: "by walking the roof", Ladder: "from a ladder", Street: "from the ground", Photo: "from pictures"}

// says tells the rating in words for the owner of the house.
func (r *PartRating) says(m Method) string {
	if r.Rating == nil {
		return fmt.Sprintf("%s nothing yet: nobody looked at anything of it that this look can judge.", spoken[r.Part])
	}
	var b strings.Builder
	b.Grow(384)
	low, high := r.Likely()
	fmt.Fprintf(&b, "%s %.0f of 100, likely %.0f to %.0f", spoken[r.Part], *r.Rating, low, high)
	if r.WorstSlope != "" {
		fmt.Fprintf(&b, "; that is its worst slope, %s", r.WorstSlope)
	}
	b.WriteString(".")
	if r.Mean != nil {
		fmt.Fprintf(&b, " Over the area of the slopes looked at it rates %.0f.", *r.Mean)
	}
	if *r.Most-*r.Least >= 1 {
		fmt.Fprintf(&b, " What was noted leaves it anywhere from %.0f to %.0f.", *r.Least, *r.Most)
	}
	if len(r.Costs) == 0 {
		b.WriteString(" No defect was seen.")
	} else {
		c := r.Costs[0]
		fmt.Fprintf(&b, " What cost most: %s, %.0f points by itself; put right, the rating of its slope would gain %.0f.", lower(c.Name), c.Points, c.GivesBack)
	}
	if n := len(r.NotLooked); n > 0 {
		was := "were"
		if n == 1 {
			was = "was"
		}
		fmt.Fprintf(&b, " Of %d defects to look for, %d %s not looked at", r.Catalogued, n, was)
		hidden := 0
		for _, key := range r.NotLooked {
			if d, _ := find(key); !d.ShownBy(m) {
				hidden++
			}
		}
		if hidden > 0 {
			fmt.Fprintf(&b, "; %d of them cannot be judged %s", hidden, from[m])
		}
		b.WriteString(".")
	}
	return b.String()
}

func lower(name string) string { return strings.ToLower(name[:1]) + name[1:] }

// measure lists the fields that would make the result narrower or whole.
func (l *look) measure(r Result) []string {
	out := []string{}
	if l.Method == "" {
		out = append(out, "method")
	}
	if l.Covering == Unknown {
		out = append(out, "covering")
	}
	if l.Method == Street && l.VisibleSlopes == nil {
		out = append(out, "visible_slopes")
	}
	if l.Wet == nil && slices.ContainsFunc(l.Findings, func(f Finding) bool {
		d, _ := find(f.Defect)
		return f.Look != NotLooked && d.NeedsDry
	}) {
		out = append(out, "wet")
	}
	for i, f := range l.Findings {
		if !l.stands[i] || f.Look != Seen {
			continue
		}
		if f.Severity == nil {
			out = append(out, fmt.Sprintf("findings[%d].severity", i))
		}
		if f.Extent == nil {
			out = append(out, fmt.Sprintf("findings[%d].extent", i))
		}
	}
	if len(l.SlopeAreas) > 0 {
		for _, s := range r.Part(Covering).Slopes {
			if s.Rating != nil && s.AreaShare == nil {
				out = append(out, "slope_areas."+s.Slope)
			}
		}
	}
	return out
}

// The cautions; common practice, no source.
func (l *look) cautions() []string {
	out := []string{"Looking closely means ladders and roofs: that is for trained people with fall protection, never in frost, wet, wind or on steep slopes. " +
		"Local rules and licensed practice go first."}
	if l.Wet != nil && *l.Wet && (l.Method == Walked || l.Method == Ladder) {
		out = append(out, "A wet roof is not walked and a ladder on wet ground slips: look from the ground, or wait until it is dry.")
	}
	if l.Covering == Tile || l.Covering == Slate {
		out = append(out, "Tiles and slates break underfoot: pictures or a ladder come first.")
	}
	if slices.ContainsFunc(l.Findings, func(f Finding) bool { return f.Defect == "lifted_tabs" || f.Defect == "high_nails" }) {
		out = append(out, "No seal is broken to look: only what is loose already is raised, and no further than it goes by itself.")
	}
	return out
}
