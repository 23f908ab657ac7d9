package charts_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"overhang/views/charts"
)

type drawing struct {
	Animation bool     `json:"animation"`
	Said      []string `json:"said"`
	XAxis     []axis   `json:"xAxis"`
	YAxis     []axis   `json:"yAxis"`
	Series    []struct {
		Type  string            `json:"type"`
		Stack string            `json:"stack"`
		Data  []json.RawMessage `json:"data"`
	} `json:"series"`
}

type axis struct {
	Type      string   `json:"type"`
	Data      []string `json:"data"`
	AxisLabel struct {
		Formatter string `json:"formatter"`
	} `json:"axisLabel"`
}

func read(t *testing.T, o charts.Options, err error) drawing {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	var d drawing
	if err := json.Unmarshal(o, &d); err != nil {
		t.Fatal(err)
	}
	return d
}

var spans = []charts.Span{
	{Name: "2027", Low: 4, Mid: 6, High: 11, Step: 2, Said: "2027: 4 to 11"},
	{Name: "2028", Low: 0, Mid: 0, High: 3, Step: 1, Said: "2028: up to 3"},
}

// The options are what the charting library documents: names on the category
// axis, a range as a stack of its lower end and its length
// (https://echarts.apache.org/en/option.html#series-bar.stack).
func TestDrawings(t *testing.T) {
	o, err := charts.YearsLeft(charts.Unit{Name: "years"}, spans)
	d := read(t, o, err)
	if d.YAxis[0].Type != "category" || strings.Join(d.YAxis[0].Data, " ") != "2027 2028" || d.XAxis[0].Data != nil {
		t.Errorf("the rows are not named on the upright axis: %s", o)
	}
	if len(d.Series) != 3 || d.Series[0].Stack != "range" || string(d.Series[0].Data[0]) != `{"value":4}` ||
		!strings.Contains(string(d.Series[1].Data[0]), `"value":7`) || !strings.Contains(string(d.Series[1].Data[0]), `--step-2`) ||
		string(d.Series[2].Data[1]) != `{"value":[0,1]}` {
		t.Errorf("the range from 4 to 11 is not drawn so: %s", o)
	}
	if d.Animation || d.Said[1] != "2028: up to 3" {
		t.Errorf("the drawing moves, or says nothing: %s", o)
	}
	o, err = charts.OwedByYear(charts.Unit{Before: "$"}, spans)
	d = read(t, o, err)
	if strings.Join(d.XAxis[0].Data, " ") != "2027 2028" || d.YAxis[0].AxisLabel.Formatter != "figure:$" || len(d.Series) != 4 || len(d.Series[3].Data) != 4 {
		t.Errorf("owed by year: %s", o)
	}
	o, err = charts.Band(charts.Unit{Name: "roofs"}, spans)
	if d = read(t, o, err); len(d.Series) != 3 || d.Series[0].Stack != d.Series[1].Stack || d.Series[2].Stack != "" {
		t.Errorf("band: %s", o)
	}
	amounts := []charts.Amount{{Name: "a", Value: 2}, {Name: "b", Value: 0}}
	o, err = charts.Bars(charts.Unit{}, amounts)
	if d = read(t, o, err); d.Series[0].Type != "bar" || len(d.Series[0].Data) != 2 || string(d.Series[0].Data[1]) != `{"value":0}` {
		t.Errorf("bars: %s", o)
	}
	o, err = charts.Line(charts.Unit{}, amounts)
	if d = read(t, o, err); d.Series[0].Type != "line" || len(d.Series[0].Data) != 2 {
		t.Errorf("line: %s", o)
	}
}

func TestDrawingsRefuse(t *testing.T) {
	for name, s := range map[string]charts.Span{
		"no number":      {Low: 1, Mid: math.NaN(), High: 3},
		"no end":         {Low: 1, Mid: 2, High: math.Inf(1)},
		"middle outside": {Low: 1, Mid: 4, High: 3},
		"ends swapped":   {Low: 3, Mid: 3, High: 1},
	} {
		for kind, draw := range map[string]func(charts.Unit, []charts.Span) (charts.Options, error){
			"years": charts.YearsLeft, "owed": charts.OwedByYear, "band": charts.Band,
		} {
			if o, err := draw(charts.Unit{}, []charts.Span{s}); err == nil {
				t.Errorf("%s with %s was drawn: %s", kind, name, o)
			}
		}
	}
	if _, err := charts.Bars(charts.Unit{}, []charts.Amount{{Value: math.NaN()}}); err == nil {
		t.Error("a bar that is no number was drawn")
	}
	if _, err := charts.Line(charts.Unit{}, []charts.Amount{{Value: math.Inf(-1)}}); err == nil {
		t.Error("a line without end was drawn")
	}
}

func TestOptionsHoldNoMarkup(t *testing.T) {
	o, err := charts.Bars(charts.Unit{Name: "</script>"}, []charts.Amount{{Name: "<b>", Value: 1, Said: "</script><script>"}})
	if err != nil || strings.ContainsAny(string(o), "<>") {
		t.Errorf("got %s, %v", o, err)
	}
}

func TestFan(t *testing.T) {
	points := []charts.FanPoint{{At: 0, Low: 100, Lower: 100, Mid: 100, Upper: 100, High: 100}, {At: 10, Low: 40, Lower: 50, Mid: 60, Upper: 70, High: 80, Said: "at 10: 40 to 80"}}
	o, err := charts.Fan(charts.Unit{Name: "age"}, charts.Unit{Name: "rating"}, points, []charts.Mark{{At: 6, Low: 60, Mid: 70, High: 80}}, 20, 8)
	d := read(t, o, err)
	// The middle, four layers of one stack, the level, today, one error and the mark.
	if len(d.Series) != 9 || d.Series[0].Stack != "" || d.Series[1].Stack != "fan" || d.Series[4].Stack != "fan" || d.Series[8].Type != "scatter" ||
		string(d.Series[2].Data[1]) != `{"value":[10,10]}` || string(d.Series[8].Data[0]) != `{"value":[6,70]}` || d.XAxis[0].Type != "value" || d.Said[1] != "at 10: 40 to 80" {
		t.Errorf("the fan: %s", o)
	}
	for name, wrong := range map[string]func() (charts.Options, error){
		"one point": func() (charts.Options, error) {
			return charts.Fan(charts.Unit{}, charts.Unit{}, points[:1], nil, 20, 8)
		},
		"backwards": func() (charts.Options, error) {
			return charts.Fan(charts.Unit{}, charts.Unit{}, []charts.FanPoint{points[1], points[0]}, nil, 20, 8)
		},
		"no number": func() (charts.Options, error) {
			return charts.Fan(charts.Unit{}, charts.Unit{}, points, []charts.Mark{{Mid: math.NaN()}}, 20, 8)
		},
		"no day": func() (charts.Options, error) {
			return charts.Fan(charts.Unit{}, charts.Unit{}, points, nil, 20, math.Inf(1))
		},
		"out of order": func() (charts.Options, error) {
			return charts.Fan(charts.Unit{}, charts.Unit{}, append([]charts.FanPoint{{At: -1, Low: 5, High: 1}}, points...), nil, 20, 8)
		},
	} {
		if o, err := wrong(); err == nil {
			t.Errorf("%s was drawn: %s", name, o)
		}
	}
}
