// Package charts makes the drawings of the pages: typed figures in, the options
// that static/chart.js hands to the charting library out, as JSON.
//
// Only data is made here. No function, script or markup ever comes from Go: the
// options are printed by html/template inside a script element of the type
// application/json. Colours are named by the custom properties of app.css
// ("--accent") and looked up in the browser, so one drawing serves the light and
// the dark page. What a tooltip says is given as a sentence for each point, in
// the reader's language. Nothing moves.
//
// Amounts are plain numbers in the unit that the axis names. A range is drawn
// from Low to High with its middle; a figure that is not a number is refused, so
// leave an unknown one out.
package charts

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"github.com/go-echarts/go-echarts/v2/charts"
	"github.com/go-echarts/go-echarts/v2/opts"
	"github.com/go-echarts/go-echarts/v2/types"
)

// Options is a finished drawing, as JSON.
type Options []byte

// MarshalJSON gives the options as they are.
func (o Options) MarshalJSON() ([]byte, error) { return json.RawMessage(o).MarshalJSON() }

// Unit says how the figures of an axis are written.
type Unit struct {
	Name   string // of the axis, in the reader's language, such as "years"
	Before string // a sign before every figure, such as "$"
}

// Span is one range: Low ≤ Mid ≤ High, in the axis' unit. Said is its tooltip.
type Span struct {
	Name           string
	Low, Mid, High float64
	Step           int // of the scale of years left, 1 to 4; 0 draws in the one accent colour
	Said           string
}

// Amount is one figure. Said is its tooltip.
type Amount struct {
	Name  string
	Value float64
	Said  string
}

func checkSpans(spans []Span) error {
	for _, s := range spans {
		if math.IsNaN(s.Low+s.Mid+s.High) || math.IsInf(s.Low+s.Mid+s.High, 0) {
			return fmt.Errorf("range %q: a figure is not a finite number", s.Name)
		}
		if s.Low > s.Mid || s.Mid > s.High {
			return fmt.Errorf("range %q: its middle %g must lie from %g to %g", s.Name, s.Mid, s.Low, s.High)
		}
	}
	return nil
}

// The colours, by their custom property in app.css.
const (
	ink    = "--ink"
	accent = "--accent"
	wash   = "--wash"
	unseen = "transparent"
)

func stepColour(step int) string {
	if step < 1 || step > 4 {
		return accent
	}
	return fmt.Sprintf("--step-%d", step)
}

// YearsLeft draws one horizontal range a row, for roofs or groups of roofs: a
// bar from Low to High in the colour of its step, its middle a stroke across.
func YearsLeft(unit Unit, rows []Span) (Options, error) {
	if err := checkSpans(rows); err != nil {
		return nil, fmt.Errorf("drawing the years left: %w", err)
	}
	names, below, span := make([]string, len(rows)), make([]opts.BarData, len(rows)), make([]opts.BarData, len(rows))
	middles, said := make([]opts.ScatterData, len(rows)), make([]string, len(rows))
	for i, r := range rows {
		names[i], said[i] = r.Name, r.Said
		below[i] = opts.BarData{Value: r.Low}
		span[i] = opts.BarData{Value: r.High - r.Low, ItemStyle: &opts.ItemStyle{Color: stepColour(r.Step)}}
		middles[i] = opts.ScatterData{Value: []any{r.Mid, i}}
	}
	bar := charts.NewBar()
	bar.SetXAxis(names).XYReversal()
	bar.AddSeries("", below, stacked("9", 0), charts.WithItemStyleOpts(opts.ItemStyle{Color: unseen}))
	bar.AddSeries("", span, stacked("9", 0))
	middle := charts.NewScatter()
	middle.AddSeries("", middles,
		charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "rect", SymbolSize: []int{2, 19}}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: ink}))
	bar.Overlap(middle)
	bar.SetGlobalOptions(
		charts.WithXAxisOpts(opts.XAxis{Type: "value", Name: unit.Name, NameLocation: "middle", NameGap: 28, Min: 0, AxisLabel: labels(unit)}),
		charts.WithYAxisOpts(opts.YAxis{Type: "category", Inverse: opts.Bool(true)}))
	return finish(bar, said)
}

// OwedByYear draws a bar a year to the middle of what is expected, with a thin
// line over it from Low to High.
func OwedByYear(unit Unit, years []Span) (Options, error) {
	if err := checkSpans(years); err != nil {
		return nil, fmt.Errorf("drawing what is owed by year: %w", err)
	}
	n := len(years)
	names, said := make([]string, n), make([]string, n)
	middles, below, span := make([]opts.BarData, n), make([]opts.BarData, n), make([]opts.BarData, n)
	ends := make([]opts.ScatterData, 0, 2*n)
	for i, y := range years {
		names[i], said[i] = y.Name, y.Said
		middles[i] = opts.BarData{Value: y.Mid}
		below[i] = opts.BarData{Value: y.Low}
		span[i] = opts.BarData{Value: y.High - y.Low}
		ends = append(ends, opts.ScatterData{Value: []any{i, y.Low}}, opts.ScatterData{Value: []any{i, y.High}})
	}
	bar := charts.NewBar()
	bar.SetXAxis(names)
	bar.AddSeries("", middles, charts.WithBarChartOpts(opts.BarChart{BarWidth: "55%"}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: wash, BorderColor: accent, BorderWidth: 1}))
	// The line has an axis of its own, unseen: bars of one axis share its width,
	// and a thin one would not stand in the middle of a wide one.
	bar.ExtendXAxis(opts.XAxis{Type: "category", Show: opts.Bool(false), Data: names})
	bar.AddSeries("", below, stacked("2", 1), charts.WithItemStyleOpts(opts.ItemStyle{Color: unseen}))
	bar.AddSeries("", span, stacked("2", 1), charts.WithItemStyleOpts(opts.ItemStyle{Color: ink}))
	caps := charts.NewScatter()
	caps.AddSeries("", ends,
		charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "rect", SymbolSize: []int{10, 2}}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: ink}))
	bar.Overlap(caps)
	bar.SetGlobalOptions(
		charts.WithXAxisOpts(opts.XAxis{Type: "category"}),
		charts.WithYAxisOpts(opts.YAxis{Type: "value", Name: unit.Name, AxisLabel: labels(unit)}))
	return finish(bar, said)
}

// Band draws a line of middles along an axis of names, with the band from Low to
// High around it: a forecast that widens.
func Band(unit Unit, points []Span) (Options, error) { return BandAgainst(unit, points) }

// BandAgainst draws a band, and beside it up to two lines that it is held against,
// of one value a point: the first dashed, the second dotted. Where some points have no
// name, those that have are the ones told along the axis.
func BandAgainst(unit Unit, points []Span, against ...[]float64) (Options, error) {
	if err := checkSpans(points); err != nil {
		return nil, fmt.Errorf("drawing a band: %w", err)
	}
	for _, values := range against {
		if len(values) != len(points) || len(against) > 2 {
			return nil, fmt.Errorf("drawing a band: a line beside it has %d values for %d points", len(values), len(points))
		}
	}
	n := len(points)
	names, said := make([]string, n), make([]string, n)
	low, span, mid := make([]opts.LineData, n), make([]opts.LineData, n), make([]opts.LineData, n)
	for i, p := range points {
		names[i], said[i] = p.Name, p.Said
		low[i], span[i], mid[i] = opts.LineData{Value: p.Low}, opts.LineData{Value: p.High - p.Low}, opts.LineData{Value: p.Mid}
	}
	noLine := charts.WithLineStyleOpts(opts.LineStyle{Width: 0.001, Color: unseen})
	line := charts.NewLine()
	line.SetXAxis(names)
	line.AddSeries("", low, lineOptions("band"), noLine)
	line.AddSeries("", span, lineOptions("band"), noLine, charts.WithAreaStyleOpts(opts.AreaStyle{Color: wash, Opacity: opts.Float(1)}))
	line.AddSeries("", mid, lineOptions(""), charts.WithLineStyleOpts(opts.LineStyle{Width: 2, Color: accent}))
	for i, values := range against {
		data := make([]opts.LineData, n)
		for j, v := range values {
			data[j] = opts.LineData{Value: v}
		}
		line.AddSeries("", data, lineOptions(""), charts.WithLineStyleOpts(opts.LineStyle{Width: 2, Color: ink, Type: []string{"dashed", "dotted"}[i]}))
	}
	plainAxes(line.SetGlobalOptions, unit)
	if slices.Contains(names, "") {
		line.SetGlobalOptions(charts.WithXAxisOpts(opts.XAxis{Type: "category", AxisLabel: &opts.AxisLabel{Interval: "0"}}))
	}
	return finish(line, said)
}

// FanPoint is where a figure may lie at one place of the level axis: its 10, 25,
// 50, 75 and 90 % points. Said is its tooltip.
type FanPoint struct {
	At                           float64
	Low, Lower, Mid, Upper, High float64
	Said                         string
}

// Mark is a measured figure with the ends of its error.
type Mark struct{ At, Low, Mid, High float64 }

// Fan draws bands from Low to High and from Lower to Upper with the middle line
// through them, the marks with their errors, a dashed level line and a dashed
// upright one at the day it is.
func Fan(across, up Unit, points []FanPoint, marks []Mark, level, today float64) (Options, error) {
	bad := func(v ...float64) bool {
		return slices.ContainsFunc(v, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
	}
	if len(points) < 2 || bad(level, today) {
		return nil, fmt.Errorf("drawing a fan: it needs two points or more, a level and a day")
	}
	said := make([]string, len(points))
	lines := make([][]opts.LineData, 5)
	at := func(x, y float64) opts.LineData { return opts.LineData{Value: []any{x, y}} }
	top := level
	for i, p := range points {
		if bad(p.At, p.Low, p.Lower, p.Mid, p.Upper, p.High) {
			return nil, fmt.Errorf("drawing a fan: a figure at %g is not a finite number", p.At)
		}
		if !(p.Low <= p.Lower && p.Lower <= p.Mid && p.Mid <= p.Upper && p.Upper <= p.High) || i > 0 && p.At <= points[i-1].At {
			return nil, fmt.Errorf("drawing a fan: the figures at %g are out of order", p.At)
		}
		said[i], top = p.Said, max(top, p.High)
		for j, v := range []float64{p.Mid, p.Low, p.Lower - p.Low, p.Upper - p.Lower, p.High - p.Upper} {
			lines[j] = append(lines[j], at(p.At, v))
		}
	}
	dashed := func(width float32) charts.SeriesOpts {
		return charts.WithLineStyleOpts(opts.LineStyle{Width: width, Color: ink, Type: "dashed"})
	}
	noLine := charts.WithLineStyleOpts(opts.LineStyle{Width: 0.001, Color: unseen})
	filled := func(opacity float32) charts.SeriesOpts {
		return charts.WithAreaStyleOpts(opts.AreaStyle{Color: accent, Opacity: opts.Float(opacity)})
	}
	line := charts.NewLine()
	// The middle comes first: a tooltip tells the point of the first line.
	line.AddSeries("", lines[0], lineOptions(""), charts.WithLineStyleOpts(opts.LineStyle{Width: 2, Color: accent}))
	line.AddSeries("", lines[1], lineOptions("fan"), noLine)
	line.AddSeries("", lines[2], lineOptions("fan"), noLine, filled(0.15))
	line.AddSeries("", lines[3], lineOptions("fan"), noLine, filled(0.32))
	line.AddSeries("", lines[4], lineOptions("fan"), noLine, filled(0.15))
	first, last := points[0].At, points[len(points)-1].At
	line.AddSeries("", []opts.LineData{at(first, level), at(last, level)}, lineOptions(""), dashed(1))
	line.AddSeries("", []opts.LineData{at(today, 0), at(today, top)}, lineOptions(""), dashed(1))
	dots := make([]opts.ScatterData, len(marks))
	for i, m := range marks {
		if bad(m.At, m.Low, m.Mid, m.High) || m.Low > m.Mid || m.Mid > m.High {
			return nil, fmt.Errorf("drawing a fan: the mark at %g is not a range of finite numbers", m.At)
		}
		dots[i] = opts.ScatterData{Value: []any{m.At, m.Mid}}
		line.AddSeries("", []opts.LineData{at(m.At, m.Low), at(m.At, m.High)}, lineOptions(""), charts.WithLineStyleOpts(opts.LineStyle{Width: 2, Color: ink}))
	}
	scatter := charts.NewScatter()
	scatter.AddSeries("", dots, charts.WithScatterChartOpts(opts.ScatterChart{Symbol: "circle", SymbolSize: 9}), charts.WithItemStyleOpts(opts.ItemStyle{Color: ink}))
	line.Overlap(scatter)
	line.SetGlobalOptions(
		charts.WithXAxisOpts(opts.XAxis{Type: "value", Name: across.Name, NameLocation: "middle", NameGap: 28, Min: first, Max: last, AxisLabel: labels(across)}),
		charts.WithYAxisOpts(opts.YAxis{Type: "value", Name: up.Name, Min: 0, Max: top, AxisLabel: labels(up)}))
	return finish(line, said)
}

// Bars draws one bar an amount.
func Bars(unit Unit, amounts []Amount) (Options, error) {
	names, said, err := checkAmounts(amounts)
	if err != nil {
		return nil, fmt.Errorf("drawing bars: %w", err)
	}
	data := make([]opts.BarData, len(amounts))
	for i, a := range amounts {
		data[i] = opts.BarData{Value: a.Value}
	}
	bar := charts.NewBar()
	bar.SetXAxis(names)
	bar.AddSeries("", data, charts.WithBarChartOpts(opts.BarChart{BarWidth: "55%"}),
		charts.WithItemStyleOpts(opts.ItemStyle{Color: wash, BorderColor: accent, BorderWidth: 1}))
	plainAxes(bar.SetGlobalOptions, unit)
	return finish(bar, said)
}

// Line draws one line through the amounts.
func Line(unit Unit, amounts []Amount) (Options, error) {
	names, said, err := checkAmounts(amounts)
	if err != nil {
		return nil, fmt.Errorf("drawing a line: %w", err)
	}
	data := make([]opts.LineData, len(amounts))
	for i, a := range amounts {
		data[i] = opts.LineData{Value: a.Value}
	}
	line := charts.NewLine()
	line.SetXAxis(names)
	line.AddSeries("", data, lineOptions(""), charts.WithLineStyleOpts(opts.LineStyle{Width: 2, Color: accent}))
	plainAxes(line.SetGlobalOptions, unit)
	return finish(line, said)
}

func checkAmounts(amounts []Amount) (names, said []string, err error) {
	names, said = make([]string, len(amounts)), make([]string, len(amounts))
	for i, a := range amounts {
		if math.IsNaN(a.Value) || math.IsInf(a.Value, 0) {
			return nil, nil, fmt.Errorf("amount %q is not a finite number", a.Name)
		}
		names[i], said[i] = a.Name, a.Said
	}
	return names, said, nil
}

func stacked(width string, axis int) charts.SeriesOpts {
	return charts.WithBarChartOpts(opts.BarChart{Stack: "range", BarWidth: width, XAxisIndex: axis})
}

func lineOptions(stack string) charts.SeriesOpts {
	return charts.WithLineChartOpts(opts.LineChart{Stack: stack, ShowSymbol: opts.Bool(false)})
}

func labels(unit Unit) *opts.AxisLabel {
	return &opts.AxisLabel{Formatter: types.FuncStr("figure:" + unit.Before)}
}

func plainAxes[C any](set func(...charts.GlobalOpts) C, unit Unit) {
	set(charts.WithXAxisOpts(opts.XAxis{Type: "category"}),
		charts.WithYAxisOpts(opts.YAxis{Type: "value", Name: unit.Name, AxisLabel: labels(unit)}))
}

// finish fills in the axes (Validate), gathers the options and encodes them.
// The sentences of the tooltips go beside them, under a key of our own that
// chart.js takes out.
func finish(chart interface {
	Validate()
	JSON() map[string]any
}, said []string) (Options, error) {
	chart.Validate()
	options := chart.JSON()
	for _, unused := range []string{"title", "legend", "toolbox", "color"} {
		delete(options, unused)
	}
	options["animation"] = false
	options["said"] = said
	data, err := json.Marshal(options)
	if err != nil {
		return nil, fmt.Errorf("encoding a chart: %w", err)
	}
	return data, nil
}
