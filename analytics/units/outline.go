package units

import (
	"database/sql/driver"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Edges are the kinds of line that bound a slope in plan. A wall runs up beside
// the slope, a headwall stands along its top; open is a line without a name of
// its own, where one slope runs on into another.
var Edges = []string{"eave", "rake", "ridge", "hip", "valley", "wall", "headwall", "open"}

// Corner is one corner of a slope's outline in plan, on axes that the house's
// slopes share: X to the right and Y up on the drawing. Edge is the kind of the
// line from this corner to the next.
type Corner struct {
	X, Y Length
	Edge string
}

// Outline is a slope's outline in plan, the overhang included: three corners or
// more, in either turn, the last joined to the first. Empty is not known.
type Outline []Corner

// mostCorners and farthest bound an outline that is believed.
const (
	mostCorners = 60
	farthest    = 500 * Metre
)

// ParseOutline reads an outline written as a unit and its corners, each with
// the line that begins there:
//
//	ft 0,0 eave; 42,0 rake; 42,16 ridge; 0,16 rake
//
// The unit is ft or m. It refuses fewer than three corners or more than 60,
// lines of unknown kind, corners on one another and more than 500 m out, an
// outline that encloses nothing, and one whose lines cross.
func ParseOutline(s string) (Outline, error) {
	s = strings.TrimSpace(s)
	if s == "" {
		return nil, nil
	}
	word, rest, _ := strings.Cut(s, " ")
	unit, known := map[string]Length{"ft": Foot, "m": Metre}[word]
	if !known {
		return nil, fmt.Errorf("outline %q: begin with the unit, ft or m", clip(s))
	}
	var out Outline
	for i, part := range strings.Split(rest, ";") {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		at, edge, _ := strings.Cut(part, " ")
		xs, ys, found := strings.Cut(at, ",")
		x, errX := strconv.ParseFloat(xs, 64)
		y, errY := strconv.ParseFloat(ys, 64)
		if !found || errX != nil || errY != nil {
			return nil, fmt.Errorf("outline corner %d %q: write x,y and the line that begins there, such as 42,0 rake", i+1, part)
		}
		out = append(out, Corner{Length(x) * unit, Length(y) * unit, strings.TrimSpace(edge)})
	}
	return out, out.Validate()
}

func clip(s string) string {
	if len(s) > 20 {
		return s[:20] + "…"
	}
	return s
}

// Validate refuses an outline that cannot be one; the empty outline is fine.
func (o Outline) Validate() error {
	if len(o) == 0 {
		return nil
	}
	if len(o) < 3 || len(o) > mostCorners {
		return fmt.Errorf("outline: must have 3 to %d corners, not %d", mostCorners, len(o))
	}
	for i, c := range o {
		if !slices.Contains(Edges, c.Edge) {
			return fmt.Errorf("outline corner %d: the line %q must be one of %s", i+1, c.Edge, strings.Join(Edges, ", "))
		}
		if !(math.Abs(float64(c.X)) <= float64(farthest) && math.Abs(float64(c.Y)) <= float64(farthest)) {
			return fmt.Errorf("outline corner %d: must lie within 500 m of the origin", i+1)
		}
		next := o[(i+1)%len(o)]
		if math.Hypot(float64(next.X-c.X), float64(next.Y-c.Y)) < 0.01 {
			return fmt.Errorf("outline corner %d: lies on the next one", i+1)
		}
	}
	for i := range o {
		for j := i + 2; j < len(o); j++ {
			if i == 0 && j == len(o)-1 {
				continue
			}
			if cross(o[i], o[i+1], o[j], o[(j+1)%len(o)]) {
				return fmt.Errorf("outline: the lines that begin at corners %d and %d cross", i+1, j+1)
			}
		}
	}
	if o.PlanArea() < 0.01 {
		return fmt.Errorf("outline: encloses nothing")
	}
	return nil
}

// PlanArea is the area enclosed, in plan.
func (o Outline) PlanArea() Area { return Area(math.Abs(o.turn())) }

// turn is the enclosed area, positive where the corners turn to the left.
func (o Outline) turn() float64 {
	sum := 0.0
	for i, c := range o {
		n := o[(i+1)%len(o)]
		sum += float64(c.X)*float64(n.Y) - float64(n.X)*float64(c.Y)
	}
	return sum / 2
}

// cross says whether the lines ab and cd meet, at an end too.
func cross(a, b, c, d Corner) bool {
	// side is nought where r stands in line with p and q, but for rounding.
	side := func(p, q, r Corner) float64 {
		v := float64((q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X))
		if math.Abs(v) < 1e-6*math.Hypot(float64(q.X-p.X), float64(q.Y-p.Y)) {
			return 0
		}
		return v
	}
	// on says whether r, which stands in line with p and q, lies between them.
	on := func(p, q, r Corner) bool {
		return min(p.X, q.X) <= r.X && r.X <= max(p.X, q.X) && min(p.Y, q.Y) <= r.Y && r.Y <= max(p.Y, q.Y)
	}
	ac, ad, ca, cb := side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
	return ac*ad < 0 && ca*cb < 0 ||
		ac == 0 && on(a, b, c) || ad == 0 && on(a, b, d) || ca == 0 && on(c, d, a) || cb == 0 && on(c, d, b)
}

// String writes the outline in metres as ParseOutline reads it.
func (o Outline) String() string {
	if len(o) == 0 {
		return ""
	}
	parts := make([]string, len(o))
	for i, c := range o {
		parts[i] = decimal(float64(c.X), 3) + "," + decimal(float64(c.Y), 3) + " " + c.Edge
	}
	return "m " + strings.Join(parts, "; ")
}

// MarshalText writes the outline as its text.
func (o Outline) MarshalText() ([]byte, error) { return []byte(o.String()), nil }

// UnmarshalText reads the outline from its text.
func (o *Outline) UnmarshalText(b []byte) error {
	read, err := ParseOutline(string(b))
	if err == nil {
		*o = read
	}
	return err
}

// Value keeps the outline as text.
func (o Outline) Value() (driver.Value, error) { return o.String(), nil }

// Scan reads the outline as it is kept.
func (o *Outline) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*o = nil
		return nil
	case string:
		return o.UnmarshalText([]byte(v))
	case []byte:
		return o.UnmarshalText(v)
	}
	return fmt.Errorf("an outline is kept as text, not as %T", v)
}
