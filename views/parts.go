package views

import (
	"encoding/json"
	"fmt"
	"math"

	"overhang/views/charts"
)

// Fact is one line of a definition list.
type Fact struct {
	Term  Phrase
	Value any // as in a Cell
	URL   string
	Phone string
	Note  Phrase
}

// Left is the years left of the fact, or nil when it holds something else.
func (f Fact) Left() *YearsLeft { return Cell{Value: f.Value}.Left() }

// Event is one line of a history, newest first.
type Event struct {
	On     any // units.Date, units.Dated or time.Time
	Who    string
	What   Phrase
	Detail Phrase
}

// Caution names one of the safety texts that go with advice.
type Caution string

// The cautions. Every text that sends somebody up a ladder goes with Climb, every
// remedy with Remedy, every estimate of years with Estimate.
const (
	Climb    Caution = "climb"
	Remedy   Caution = "remedy"
	Estimate Caution = "estimate"
	Water    Caution = "water" // said to a caller
)

// RangeScale is the number of years that a drawn range spans.
const RangeScale = 40

// RangeDrawing is where the ends and the middle of a range lie on a line that is
// 240 long.
type RangeDrawing struct {
	From, Mid, Length float64
	Ticks             []float64 // every ten years
	Step              int
	Beyond            bool // reaches past the end of the line
}

// Drawing gives the range as lengths.
func (y YearsLeft) Drawing() RangeDrawing {
	const unit = 240.0 / RangeScale
	place := func(v float64) float64 { return math.Round(min(max(v, 0), RangeScale)*unit*10) / 10 }
	d := RangeDrawing{From: place(y.Low), Mid: place(y.Mid), Step: y.Step(), Beyond: y.High > RangeScale}
	d.Length = max(place(y.High)-d.From, 1)
	for t := 0.0; t <= RangeScale; t += 10 {
		d.Ticks = append(d.Ticks, place(t))
	}
	return d
}

// MapHouse is one house of a map. One whose place is not known is only in the
// list beside the map.
type MapHouse struct {
	Lat, Lon *float64 // degrees, WGS84
	Name     string   // its address
	URL      string
	Left     YearsLeft
	Said     Phrase // in place of the years left, where the map is of something else
	Step     int    // of the colours, where Said is given; 1 to 4, or 0 for not known
	Square   bool   // drawn as a square and not a circle
	Note     Phrase
}

// MapKey says what a mark on a map means.
type MapKey struct {
	Step   int
	Square bool
	Words  Phrase
}

// Point is a place in degrees, WGS84.
type Point struct {
	Lat float64 `json:"lat"`
	Lon float64 `json:"lon"`
}

// Map shows houses on a drawing without any map service, and in a list beside
// it. Ordered numbers the houses in walking order, the squares apart.
type Map struct {
	ID      string
	Label   Phrase
	Houses  []MapHouse
	Streets [][]Point // lines drawn beneath; may be empty
	Ordered bool
	Keys    []MapKey // what the marks mean; the years left when empty
	Bare    bool     // without the list beside it: the same houses stand in one elsewhere on the page
}

type mapHouse struct {
	Point
	Number int    `json:"number,omitempty"`
	Step   int    `json:"step"`
	Name   string `json:"name"`
	Said   string `json:"said"`
	URL    string `json:"url"`
	Square bool   `json:"square,omitempty"`
}

// drawMap writes what map.js draws.
func (w *writer) drawMap(m Map) (any, error) {
	out := struct {
		Houses  []mapHouse `json:"houses"`
		Streets [][]Point  `json:"streets"`
	}{Houses: []mapHouse{}, Streets: m.Streets}
	for i, h := range m.Houses {
		if h.Lat == nil || h.Lon == nil {
			continue
		}
		said, err := w.say(h.Said)
		step := h.Step
		if h.Said.IsZero() {
			step = h.Left.Step()
			if said, err = w.say(Say("map.unknown")); !h.Left.Unknown() {
				said, err = w.years(h.Left)
			}
		}
		if err != nil {
			return nil, err
		}
		if note, err := w.say(h.Note); err != nil {
			return nil, err
		} else if note != "" {
			said += ". " + note
		}
		house := mapHouse{Point: Point{*h.Lat, *h.Lon}, Step: step, Name: h.Name, Said: said, URL: h.URL, Square: h.Square}
		if m.Ordered && !h.Square {
			house.Number = i + 1
		}
		out.Houses = append(out.Houses, house)
	}
	return out, nil
}

// Chart is a drawing of figures, with a sentence that says what it shows and its
// figures in a table that opens below.
type Chart struct {
	ID      string
	Title   Phrase
	Summary Phrase
	Tall    bool // for a chart of many rows
	// Draw makes the chart. It is called when the page is rendered, with a
	// function that puts phrases and values into the reader's language and units.
	Draw    func(say func(any) string) (charts.Options, error)
	Numbers *Table
}

// draw makes the options, as JSON that html/template prints inside a script
// element that is data and not code.
func (c Chart) draw(w *writer) (any, error) {
	if c.Draw == nil {
		return nil, fmt.Errorf("chart %q has nothing that draws it", c.ID)
	}
	var unsaid error
	options, err := c.Draw(func(v any) string {
		s, err := w.show(v)
		if err != nil && unsaid == nil {
			unsaid = err
		}
		return s
	})
	if err == nil {
		err = unsaid
	}
	if err != nil {
		return nil, fmt.Errorf("chart %q: %w", c.ID, err)
	}
	return json.RawMessage(options), nil
}
