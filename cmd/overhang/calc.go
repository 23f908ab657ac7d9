package main

import (
	"bufio"
	"bytes"
	"embed"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"slices"
	"strings"
	"unicode"

	"overhang/analytics/attic"
	"overhang/analytics/climate"
	"overhang/analytics/details"
	"overhang/analytics/drainage"
	"overhang/analytics/geo"
	"overhang/analytics/hindsight"
	"overhang/analytics/icing"
	"overhang/analytics/lifespan"
	"overhang/analytics/neighbours"
	"overhang/analytics/owed"
	"overhang/analytics/promise"
	"overhang/analytics/storms"
	"overhang/analytics/survival"
	"overhang/analytics/takeoff"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/analytics/visits"
	"overhang/analytics/wear"
	"overhang/analytics/workmanship"
)

// calculation is one method of the program, run on JSON without a database.
type calculation struct {
	name  string
	about string
	// table is the field of the input whose rows may be given as CSV instead;
	// empty when there is none.
	table string
	run   func(input []byte) (any, error)
	rows  reflect.Type // of the table
	// over runs it over a year of weather from a file; nil where it needs none.
	over func(year *climate.Year, input []byte) (any, error)
}

// calculations are all of them, in the order of the help.
var calculations = []calculation{
	calculate("lifespan", "the years left in a covering", "", lifespan.Estimate),
	calculate("look", "what another look at a covering would be worth", "", lifespan.Worth),
	calculate("gain", "what putting something right would add to the years left", "", gain),
	calculate("hindsight", "how right past estimates have been, against what was later seen", "", hindsight.Check),
	calculate("survival", "lives of coverings, with censoring and late entry: a regression on what they have", "rows", survival.Fit),
	calculate("cox", "the same without a shape of life: by how much each covariate multiplies the hazard", "rows", survival.Cox),
	calculate("pool", "own lives told to what was believed of each covering, with what neighbourhoods and eras add or take", "rows", survival.Pool),
	calculate("curve", "the share of coverings that outlives each age, by group", "rows", survival.Curve),
	calculate("events", "callbacks or repairs by age, as a mean per roof", "rows", survival.Events),
	calculate("wear", "a rating from what a look found", "findings", wear.Rate),
	calculate("venting", "net free vent area asked for and there, by code and edition", "openings", venting.Check),
	calculate("takeoff", "squares, bundles, nails, runs, membrane and flashing of a roof, and where its water goes", "slopes", takeoff.TakeOff),
	calculate("attic", "heat, air, ageing and winter of an attic over a typical year", "", attic.Run).withWeather(func(y *climate.Year, input []byte) (any, error) {
		in := attic.Input{}
		if err := decode(input, &in); err != nil {
			return nil, err
		}
		in.Year = y
		return attic.Run(in)
	}),
	calculate("eave", "how far eave protection must reach and does, by code and edition", "", icing.Eave),
	calculate("ice", "how likely ice is at an eave, physics and judgement apart", "", icing.Index),
	calculate("drainage", "whether the design rain stays in a run of gutter", "valleys", drainage.Check),
	calculate("details", "penetrations, flashings, valleys and saddles", "details", details.Check),
	calculate("sun", "where the sun stands, and what falls on a slope", "", climate.Sun),
	calculate("climate", "the typical year of a station, of one's own normals or of a file, month by month", "", climate.Typical).withWeather(func(y *climate.Year, input []byte) (any, error) {
		in := climate.TypicalInput{}
		if err := decode(input, &in); err != nil {
			return nil, err
		}
		in.Year = y
		return climate.Typical(in)
	}),
	calculate("promise", "what a warranty covers on a day", "", promise.Judge),
	calculate("owed", "callbacks by cause and age fitted to one's own history, and what they will cost by term, crew, covering, lot and neighbourhood", "roofs", owed.Model),
	calculate("distribution", "the whole distribution of what is ahead, with weather, lots and crews that do not average out", "", owed.Distribution),
	calculate("scenarios", "what a bad lot, a habit, a hailstorm or an ice winter would cost, and who bears it", "", owed.Scenarios),
	calculate("workmanship", "callbacks by crew, cause and detail against what all roofs of their ages had, and before and after a change", "roofs", workmanship.Review),
	calculate("rates", "callback rates by group, shrunk towards what all have in common", "groups", owed.Rates),
	calculate("credibility", "mean costs by crew, covering or branch, shrunk towards what all have in common", "observations", owed.Credibility),
	calculate("triangle", "payments by year laid carried forward by the chain ladder, with standard errors", "", owed.ChainLadder),
	calculate("ledger", "the provision rolled forward month by month, closed months locked", "", owed.RollForward),
	calculate("reserve", "the reserve by expected value and by the chain ladder, and why they differ", "", owed.Reserve),
	calculate("provision", "a provision by expected value", "", owed.Provision),
	calculate("visits", "who is due for a check-up or a storm look, and since when", "roofs", visits.WhoIsDue),
	calculate("days", "day plans of visits, in order", "stops", visits.PlanDays),
	calculate("neighbours", "houses ranked by likeness and need", "houses", neighbours.Rank),
	calculate("walk", "the order in which to walk along houses", "stops", neighbours.Walk),
	calculate("storms", "which roofs a storm crossed, and how soon each is worth a look", "roofs", storms.Crossed),
	calculate("distance", "the distance between two points on the earth", "", distance),
}

// distanceInput is two points.
type distanceInput struct {
	From geo.Point `json:"from"`
	To   geo.Point `json:"to"`
}

type distanceResult struct {
	Distance  units.Length `json:"distance_m"`
	AzimuthAt float64      `json:"azimuth_from_deg"` // clockwise from north, at the first point
	AzimuthTo float64      `json:"azimuth_to_deg"`   // at the second, going on
}

// gainInput is the years left and a change.
type gainInput struct {
	YearsLeft lifespan.Range  `json:"years_left"`
	Change    lifespan.Change `json:"change"`
}

func gain(in gainInput) (lifespan.Gain, error) { return lifespan.WhatIf(in.YearsLeft, in.Change) }

func distance(in distanceInput) (distanceResult, error) {
	for name, p := range map[string]geo.Point{"from": in.From, "to": in.To} {
		if err := p.Validate(); err != nil {
			return distanceResult{}, fmt.Errorf("%s.%w", name, err)
		}
	}
	d, at, to := geo.Inverse(in.From, in.To)
	return distanceResult{d, at, to}, nil
}

func calculate[In, Out any](name, about, table string, method func(In) (Out, error)) calculation {
	c := calculation{name: name, about: about, table: table, run: func(input []byte) (any, error) {
		var in In
		if err := decode(input, &in); err != nil {
			return nil, err
		}
		return method(in)
	}}
	if table != "" {
		f, found := field(reflect.TypeFor[In](), table)
		if !found || f.Kind() != reflect.Slice {
			panic("calculation " + name + " has no table " + table)
		}
		c.rows = f.Elem()
	}
	return c
}

func (c calculation) withWeather(over func(*climate.Year, []byte) (any, error)) calculation {
	c.over = over
	return c
}

// decode reads one JSON value and refuses fields that are not known, by name,
// and anything after it.
func decode(input []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(input))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		var kind *json.UnmarshalTypeError
		if errors.As(err, &kind) && kind.Field != "" {
			return fmt.Errorf("reading the input: field %q takes %s, not %s", kind.Field, plainly(kind.Type), kind.Value)
		}
		if errors.Is(err, io.EOF) {
			return errors.New("reading the input: there is none on standard input")
		}
		return fmt.Errorf("reading the input: %s", strings.TrimPrefix(err.Error(), "json: "))
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return errors.New("reading the input: there is something after its end")
	}
	return nil
}

// plainly names what a field takes, as JSON has it.
func plainly(t reflect.Type) string {
	switch kind := t.Kind(); {
	case kind == reflect.Float32 || kind == reflect.Float64:
		return "a number"
	case kind >= reflect.Int && kind <= reflect.Uint64:
		return "a whole number"
	case kind == reflect.String:
		return "text"
	case kind == reflect.Bool:
		return "true or false"
	case kind == reflect.Slice || kind == reflect.Array:
		return "a list"
	}
	return "an object"
}

func calculationNames() string {
	var names []string
	for _, c := range calculations {
		names = append(names, c.name)
	}
	return strings.Join(names, ", ")
}

type calcCommand struct {
	Name    string `arg:"" help:"Which: ${calculations}."`
	Example bool   `xor:"with,weather" help:"Print an input to begin from instead of reading one."`

	With string `xor:"with" placeholder:"JSON" help:"The other fields of the input, when standard input is the CSV of its table."`

	Weather string `xor:"weather" placeholder:"FILE" type:"existingfile" help:"A typical year in the EPW format, for attic and climate, in place of a station."`
}

// Help is the longer part of the command's manual page.
func (calcCommand) Help() string {
	var b strings.Builder
	b.WriteString("The input is one JSON object on standard input; a field that is not known is refused by name. " +
		"Where a calculation has a table, its rows may be given as CSV instead, with the fields as columns " +
		"(a field within a field as at.lat, a covariate of any name as covariates.name) and the other fields in --with. " +
		"With --example an input is printed to begin from.\n\n")
	for _, c := range calculations {
		fmt.Fprintf(&b, "  %-12s %s", c.name, c.about)
		if c.table != "" {
			fmt.Fprintf(&b, " (table: %s)", c.table)
		}
		b.WriteString("\n")
	}
	return b.String()
}

// Run runs one calculation.
func (c *calcCommand) Run(p *program) error {
	i := slices.IndexFunc(calculations, func(k calculation) bool { return k.name == c.Name })
	if i < 0 {
		return fmt.Errorf("%w: there is no calculation %q; there are %s", errMisuse, c.Name, calculationNames())
	}
	calc := calculations[i]
	if c.Example {
		return calc.writeExample(p.out)
	}
	in := bufio.NewReader(p.in)
	first, err := firstByte(in)
	if err != nil {
		return err
	}
	var input []byte
	switch {
	case first == '{' && c.With != "":
		return fmt.Errorf("%w: --with goes with a CSV; standard input is JSON already", errMisuse)
	case first != '{' && first != 0 && calc.table != "":
		input, err = calc.fromCSV(in, c.With)
	default:
		input, err = io.ReadAll(in)
	}
	if err != nil {
		return fmt.Errorf("reading the input: %w", err)
	}
	run := calc.run
	if c.Weather != "" {
		if calc.over == nil {
			return fmt.Errorf("%w: calc %s needs no weather", errMisuse, c.Name)
		}
		year, err := readWeather(c.Weather)
		if err != nil {
			return err
		}
		run = func(input []byte) (any, error) { return calc.over(year, input) }
	}
	out, err := run(input)
	if err != nil {
		return fmt.Errorf("calc %s: %w", c.Name, err)
	}
	return writeJSON(p.out, out)
}

// examples are an input of each calculation, of invented roofs and streets where
// it is not a published case.
//
//go:embed examples/*.json
var examples embed.FS

func (c calculation) writeExample(w io.Writer) error {
	b, err := examples.ReadFile("examples/" + c.name + ".json")
	if err == nil {
		_, err = w.Write(b)
	}
	if err != nil {
		return fmt.Errorf("writing the example of %s: %w", c.name, err)
	}
	return nil
}

func readWeather(name string) (*climate.Year, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, fmt.Errorf("reading the weather: %w", err)
	}
	defer f.Close()
	year, err := climate.ReadEPW(f)
	if err != nil {
		return nil, fmt.Errorf("reading the weather of %s: %w", name, err)
	}
	return year, nil
}

// firstByte looks at the first byte that is no space, and 0 at the end.
func firstByte(in *bufio.Reader) (byte, error) {
	for {
		b, err := in.Peek(1)
		if errors.Is(err, io.EOF) {
			return 0, nil
		}
		if err != nil {
			return 0, fmt.Errorf("reading the input: %w", err)
		}
		if !unicode.IsSpace(rune(b[0])) {
			return b[0], nil
		}
		if _, err := in.Discard(1); err != nil {
			return 0, fmt.Errorf("reading the input: %w", err)
		}
	}
}

func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("writing the result: %w", err)
	}
	return nil
}

// fromCSV makes the JSON input of a calculation from the rows of its table and
// its other fields.
func (c calculation) fromCSV(r io.Reader, with string) ([]byte, error) {
	in := map[string]json.RawMessage{}
	if with != "" {
		if err := json.Unmarshal([]byte(with), &in); err != nil {
			return nil, fmt.Errorf("--with: %w", err)
		}
	}
	if _, twice := in[c.table]; twice {
		return nil, fmt.Errorf("--with: %s comes from the CSV", c.table)
	}
	reader := csv.NewReader(r)
	header, err := reader.Read()
	if err != nil {
		return nil, fmt.Errorf("line 1: %w", err)
	}
	kinds := make([]reflect.Kind, len(header))
	for i, name := range header {
		header[i] = strings.TrimSpace(strings.TrimPrefix(name, "\ufeff"))
		t := c.rows
		for part := range strings.SplitSeq(header[i], ".") {
			f, found := field(t, part)
			if !found {
				return nil, fmt.Errorf("line 1: unknown field %q%s", header[i], named(c.rows, header[i]))
			}
			t = f
		}
		kinds[i] = t.Kind()
		if reflect.PointerTo(t).Implements(reflect.TypeFor[interface{ UnmarshalText([]byte) error }]()) {
			kinds[i] = reflect.String
		}
	}
	rows := []map[string]any{}
	for {
		record, err := reader.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, err
		}
		row := map[string]any{}
		for i, cell := range record {
			if cell = strings.TrimSpace(cell); cell == "" {
				continue // not known
			}
			at := row
			parts := strings.Split(header[i], ".")
			for _, part := range parts[:len(parts)-1] {
				inner, is := at[part].(map[string]any)
				if !is {
					inner = map[string]any{}
					at[part] = inner
				}
				at = inner
			}
			var value any = cell
			if kinds[i] != reflect.String {
				if !json.Valid([]byte(cell)) {
					line, _ := reader.FieldPos(i)
					return nil, fmt.Errorf("line %d, %s: %q is no number, true or false", line, header[i], cell)
				}
				value = json.RawMessage(cell)
			}
			at[parts[len(parts)-1]] = value
		}
		rows = append(rows, row)
	}
	if in[c.table], err = json.Marshal(rows); err != nil {
		return nil, err
	}
	return json.Marshal(in)
}

// named says how a column of any name is written, where rows of this type take them.
func named(rows reflect.Type, column string) string {
	for _, f := range reflect.VisibleFields(rows) {
		if tag, _, _ := strings.Cut(f.Tag.Get("json"), ","); f.Type.Kind() == reflect.Map && f.IsExported() {
			return fmt.Sprintf(" (one of your own is written %s.%s)", tag, column)
		}
	}
	return ""
}

// field finds the type of the JSON field of a struct, through embedded ones, or
// of any name in a map.
func field(t reflect.Type, name string) (reflect.Type, bool) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t.Kind() == reflect.Map && name != "" {
		return t.Elem(), true
	}
	if t.Kind() != reflect.Struct {
		return nil, false
	}
	for _, f := range reflect.VisibleFields(t) {
		tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		if tag == name && f.IsExported() {
			inner := f.Type
			for inner.Kind() == reflect.Pointer {
				inner = inner.Elem()
			}
			return inner, true
		}
	}
	return nil, false
}
