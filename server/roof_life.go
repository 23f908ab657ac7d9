package server

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/lifespan"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
	"overhang/views/charts"
)

// chartYears is how far ahead a roof's page draws the chance that it serves.
const chartYears = 25

// roofLife words an estimate, nil where there is none. Of a roof that is too new
// only the table's own range is said, and who is to look at it is told nothing.
func roofLife(r *Request, frame views.Frame, page *service.RoofPage) *views.RoofLife {
	if page.Kept != nil && page.File.Roof.EndedOn.IsZero() {
		return keptLife(r, frame, page)
	}
	if page.Life == nil {
		return nil
	}
	result := page.Life.Result
	table := lifespan.Range{Low: result.Prior.Quantile(0.1), Middle: result.Prior.Quantile(0.5), High: result.Prior.Quantile(0.9)}
	life := &views.RoofLife{TooNew: result.TooNew, Left: yearsLeft(result.YearsLeft),
		Table:  views.Say("roof.table", "kind", views.Term("roofing", result.Material), "life", yearsLeft(table)),
		Source: result.Prior.Source, Says: result.Says, Version: result.ModelVersion}
	if page.Lifted != nil {
		life.Lifted = views.Say("roof.lifted", "day", page.Lifted.BookedFor)
	} else if r.Actor.May(service.AddFindings) {
		life.Before, life.Looks = views.Say("roof.look.before").Link("visits", "/visits#look"), sayLook(frame, page.File.Roof.ID, true)
	}
	if result.TooNew {
		return life
	}
	for _, c := range []struct {
		term   views.Phrase
		chance float64
	}{{views.Say("roof.chance.past"), result.ChancePast}, {views.Say("roof.chance.1"), result.ChanceIn1},
		{views.Say("roof.chance.2"), result.ChanceIn2}, {views.Say("roof.chance.5"), result.ChanceIn5}} {
		life.Chances = append(life.Chances, views.Fact{Term: c.term, Value: views.Say("roof.chance.said", "words", likely(c.chance), "share", share(c.chance))})
	}
	life.Ask, life.Asked = askChance(r, frame, page)
	life.Chart = servesChart(result.Chances[:min(len(result.Chances), chartYears+1)])
	life.Reasons, life.Total = lifeReasons(result, page.Life.Input, slopeNames(page.File))
	life.Younger = younger(page.Life.Input.Repairs, slopeNames(page.File))
	life.Slopes = slopesLeft(result, page.Life.Input, slopeNames(page.File))
	if page.Ahead != nil {
		fan := fanChart(page.Ahead.Fan, slopeNames(page.File))
		life.Fan = &fan
		looks := nextLooksTable(page.Ahead.Looks)
		life.Next = &looks
		if len(page.Ahead.Gains) == 0 {
			life.NoGains = views.Say("roof.gain.none")
		} else {
			gains := gainsTable(page.Ahead.Gains)
			life.Gains = &gains
		}
	}
	return life
}

// keptLife says why the estimate is kept, and asks who has not said yet whether they
// are going to look.
func keptLife(r *Request, frame views.Frame, page *service.RoofPage) *views.RoofLife {
	roof, kept := page.File.Roof.ID, page.Kept
	life := &views.RoofLife{}
	switch {
	case kept.Booked != nil:
		life.Kept = []views.Phrase{views.Say("roof.kept", "day", kept.Booked.BookedFor).Link("visit", visitURL(kept.Booked.ID))}
		if r.Actor.May(service.BookVisits) {
			life.Kept = append(life.Kept, views.Say("roof.kept.lift").Link("lift", roofURL(roof)+lift+"#years"))
		}
	case !kept.Said.IsZero():
		life.Kept = []views.Phrase{views.Say("roof.kept.said", "day", kept.Said).Link("visit", newVisitURL(roof))}
		life.LooksNot = sayLook(frame, roof, false)
	default:
		life.Kept = []views.Phrase{views.Say("roof.kept.ask").Link("visit", newVisitURL(roof))}
		life.Looks, life.LooksNot = sayLook(frame, roof, true), sayLook(frame, roof, false)
	}
	return life
}

// sayLook is the press that says that one is going to look at a roof, or not.
func sayLook(frame views.Frame, roof int64, looks bool) *views.Form {
	id, submit, value := "looks-not", views.Say("roof.look.not"), "no"
	if looks {
		id, submit, value = "looks", views.Say("roof.look.going"), "yes"
	}
	form := frame.Form(id, roofURL(roof)+"/look", submit, views.Field{Name: "looks", Kind: views.Hidden, Value: value})
	form.Plain = true
	return form
}

func (s *Server) sayLook(r *Request) error {
	id, err := r.ID("id")
	if err != nil {
		return err
	}
	form := r.Form()
	looks := form.YesNo("looks")
	if looks == nil {
		form.Refuse("looks", "must be yes or no")
	}
	if err := form.Err(); err != nil {
		return err
	}
	if err := s.service.SayLook(r.ctx, r.Actor, id, *looks); err != nil {
		return err
	}
	said := views.Say("roof.look.said.not")
	if *looks {
		said = views.Say("roof.look.said")
	}
	return r.Redirect(roofURL(id)+"#years", said)
}

// askChance asks for a number of years, and answers what was asked.
func askChance(r *Request, frame views.Frame, page *service.RoofPage) (*views.Form, views.Phrase) {
	typed := r.Query("within")
	field := views.Field{Name: "within", Kind: views.Number, Label: views.Say("roof.chance.ask"), Value: typed}
	answer := views.Phrase{}
	if typed != "" {
		years, err := strconv.Atoi(typed)
		chances := page.Life.Result.Chances
		at := slices.IndexFunc(chances, func(c lifespan.Chance) bool { return err == nil && c.Years == float64(years) })
		if at < 1 {
			field.Error = "write whole years from 1 to 99"
		} else {
			answer = views.Say("roof.chance.asked", "years", years, "share", share(chances[at].Chance), "words", likely(chances[at].Chance))
		}
	}
	form := frame.Filter("within", roofURL(page.File.Roof.ID)+"#chance", "", field)
	if page.Lifted != nil {
		form.Group(views.Phrase{}, views.Field{Name: "estimate", Kind: views.Hidden, Value: "show"})
	}
	form.Submit = views.Say("roof.chance.submit")
	return form, answer
}

// likely words a chance. The cuts are our own judgement, no source.
func likely(chance float64) views.Phrase {
	key := "hardly"
	switch {
	case chance >= 0.9:
		key = "almost"
	case chance >= 0.66:
		key = "likely"
	case chance >= 0.33:
		key = "even"
	case chance >= 0.1:
		key = "unlikely"
	}
	return views.Term("chance", key)
}

// lifeReasons words the reasons, in tenths of a year that come to the total that
// is shown.
func lifeReasons(result lifespan.Result, in lifespan.Input, slopes map[string]string) ([]views.RoofReason, views.Phrase) {
	effects := make([]float64, len(result.Reasons))
	for i, reason := range result.Reasons {
		effects[i] = reason.EffectYears
	}
	tenths, total := inTenths(effects)
	var out []views.RoofReason
	for i, reason := range result.Reasons {
		out = append(out, lifeReason(reason, tenths[i], in, slopes))
	}
	return out, views.Say("roof.why.total", "years", oneDecimal(float64(total)/10))
}

// inTenths rounds parts to tenths so that they come to their rounded sum: those
// with the largest remainders are rounded up.
func inTenths(parts []float64) (tenths []int, total int) {
	sum, low := 0.0, 0
	order := make([]int, len(parts))
	tenths = make([]int, len(parts))
	for i, v := range parts {
		sum += v
		tenths[i] = int(math.Floor(10 * v))
		low += tenths[i]
		order[i] = i
	}
	total = int(math.Round(10 * sum))
	rest := func(i int) float64 { return 10*parts[i] - math.Floor(10*parts[i]) }
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case rest(a) > rest(b):
			return -1
		case rest(a) < rest(b):
			return 1
		}
		return 0
	})
	for _, i := range order[:min(max(total-low, 0), len(order))] {
		tenths[i]++
	}
	return tenths, total
}

// tells is how far from 1, on the logarithm, a factor is told without opening
// the others of its class.
const tells = 0.015

func lifeReason(of lifespan.Reason, tenths int, in lifespan.Input, slopes map[string]string) views.RoofReason {
	out := views.RoofReason{Because: of.Because, Source: of.Source}
	years := oneDecimal(math.Abs(float64(tenths)) / 10)
	switch {
	case of.Kind == "prior":
		out.What = views.Say("roof.why.prior", "name", views.Term("roofing", of.Name))
		out.Effect = views.Say("roof.effect.begins", "years", years)
		return out
	case tenths > 0:
		out.Effect = views.Say("roof.effect.longer", "years", years)
	case tenths < 0:
		out.Effect = views.Say("roof.effect.shorter", "years", years)
	default:
		out.Effect = views.Say("roof.effect.none")
	}
	switch of.Kind {
	case "standing":
		out.What = views.Say("roof.why.standing")
	case "reading":
		out.What = lookedReason(of, in.Readings, slopes)
	default:
		out.What, out.Because, out.Source = views.Plain(of.Name), "", ""
		if of.Class != "" {
			out.What = views.Term("factor_class", string(of.Class))
		}
		var unknown []views.Phrase
		var telling []string
		for _, f := range in.Factors {
			switch {
			case f.Class != of.Class || (f.Class == "" && f.Name != of.Name):
			case f.NotKnown:
				unknown = append(unknown, factorName(f.Name))
			default:
				if math.Abs(math.Log(f.Mid)) > tells {
					telling = append(telling, f.Reason)
				}
				out.Parts = append(out.Parts, views.RoofFactor{What: factorName(f.Name), Because: f.Reason, Source: f.Source,
					Effect: views.Say("roof.factor.times", "middle", twoDecimals(f.Mid), "low", twoDecimals(f.Low), "high", twoDecimals(f.High))})
			}
		}
		out.Because = strings.Join(telling, "; ")
		if len(unknown) > 0 {
			out.Unknown = views.Say("roof.factor.unknown", "names", unknown)
		}
	}
	return out
}

// lookedReason names the looks of a reason, with the slopes that they told apart.
func lookedReason(of lifespan.Reason, readings []lifespan.Reading, names map[string]string) views.Phrase {
	looks := map[string]bool{}
	var apart []string
	for _, i := range of.Readings {
		r := readings[i]
		on, method, _ := strings.Cut(r.Name, " ")
		method, _, _ = strings.Cut(method, " ")
		looks[on+" "+method+" "+r.By] = true
		if r.Slope != "" && !slices.Contains(apart, names[r.Slope]) {
			apart = append(apart, names[r.Slope])
		}
	}
	slices.Sort(apart)
	slopes := make([]views.Phrase, len(apart))
	for i, name := range apart {
		slopes[i] = views.Plain(name)
	}
	if len(looks) == 1 {
		on, method, _ := strings.Cut(readings[of.Readings[0]].Name, " ")
		method, _, _ = strings.Cut(method, " ")
		day, err := units.ParseDate(on)
		switch {
		case err != nil:
			return views.Say("roof.why.reading.unnamed")
		case len(slopes) > 0:
			return views.Say("roof.why.reading.slopes", "day", day, "method", views.Term("looked", method), "slopes", slopes)
		}
		return views.Say("roof.why.reading", "day", day, "method", views.Term("looked", method))
	}
	if len(slopes) > 0 {
		return views.Say("roof.why.readings.slopes", "count", len(looks), "slopes", slopes)
	}
	return views.Say("roof.why.readings", "count", len(looks))
}

// slopeNames are the names of the slopes of a roof, by what estimates name them.
func slopeNames(f *models.RoofFile) map[string]string {
	out := map[string]string{}
	for _, slope := range f.Slopes {
		out[strconv.FormatInt(slope.ID, 10)] = slope.Name
	}
	return out
}

// younger tells what of a covering is younger than the roof.
func younger(repairs []lifespan.Repair, names map[string]string) (out []views.Phrase) {
	for _, r := range repairs {
		years := oneDecimal(r.YearsAgo)
		switch {
		case r.Slope == "" && r.Share == 1:
			out = append(out, views.Say("roof.younger.all", "years", years))
		case r.Slope == "":
			out = append(out, views.Say("roof.younger.part", "share", share(r.Share), "years", years))
		case r.Share == 1:
			out = append(out, views.Say("roof.younger.slope", "slope", names[r.Slope], "years", years))
		default:
			out = append(out, views.Say("roof.younger.slope.part", "slope", names[r.Slope], "share", share(r.Share), "years", years))
		}
	}
	return out
}

// slopesLeft tells the years left slope by slope, nil where no looks told slopes
// apart. A slope that was built after the roof was laid is as old as that.
func slopesLeft(result lifespan.Result, in lifespan.Input, names map[string]string) *views.Table {
	if len(result.Slopes) == 0 {
		return nil
	}
	t := &views.Table{ID: "life-slopes", Stacks: true, Caption: views.Say("roof.slopes.left"), Columns: []views.Column{{Head: views.Say("roof.slope")},
		{Head: views.Say("roof.slopes.left.years"), Numeric: true}, {Head: views.Say("roof.slopes.left.worst"), Numeric: true}}}
	for _, s := range result.Slopes {
		age := (result.EarliestAge + result.LatestAge) / 2
		for _, r := range in.Repairs {
			if r.Slope == s.Slope && r.Share == 1 {
				age = min(age, r.YearsAgo)
			}
		}
		left := lifespan.Range{Low: max(0, s.WornOutAge.Low-age), Middle: max(0, s.WornOutAge.Middle-age), High: max(0, s.WornOutAge.High-age)}
		t.Rows = append(t.Rows, views.NewRow(names[s.Slope], yearsLeft(left), share(s.ChanceWorst)))
	}
	return t
}

// factorNames are the factors that have words of their own.
var factorNames = func() []string {
	out := []string{"attic ventilation", "direction", "sun and heat", "freeze and thaw"}
	for _, a := range lifespan.Aspects() {
		out = append(out, a.Name)
	}
	return out
}()

func factorName(name string) views.Phrase {
	if slices.Contains(factorNames, name) {
		return views.Term("factor", strings.ReplaceAll(name, " ", "_"))
	}
	return views.Plain(name)
}

// servesChart draws the chance that the covering still does its work, year by
// year from today.
func servesChart(chances []lifespan.Chance) views.Chart {
	chart := views.Chart{ID: "serves", Title: views.Say("roof.chart"), Summary: views.Say("roof.chart.summary"),
		Numbers: &views.Table{ID: "serves-numbers", Caption: views.Say("roof.chart"), Columns: []views.Column{{Head: views.Say("roof.chart.year")}, {Head: views.Say("roof.chart.chance"), Numeric: true}}},
		Draw: func(say func(any) string) (charts.Options, error) {
			amounts := make([]charts.Amount, len(chances))
			for i, c := range chances {
				amounts[i] = charts.Amount{Name: strconv.Itoa(int(c.Years)), Value: math.Round(1000*(1-c.Chance)) / 10,
					Said: say(views.Say("roof.chart.said", "years", int(c.Years), "chance", share(1-c.Chance)))}
			}
			return charts.Line(charts.Unit{Name: say(views.Say("roof.chart.axis"))}, amounts)
		}}
	for _, c := range chances {
		chart.Numbers.Rows = append(chart.Numbers.Rows, views.NewRow(int(c.Years), share(1-c.Chance)))
	}
	return chart
}

// fanChart draws the rating against age with what looks rated it, or the slopes that
// they told apart.
func fanChart(fan lifespan.FanResult, slopes map[string]string) views.Chart {
	span := func(low, high float64) views.Phrase {
		return views.Say("roof.fan.span", "low", whole(low), "high", whole(high))
	}
	numbers := &views.Table{ID: "fan-numbers", Stacks: true, Caption: views.Say("roof.fan"), Columns: []views.Column{{Head: views.Say("roof.fan.age"), Numeric: true},
		{Head: views.Say("roof.fan.likely"), Numeric: true}, {Head: views.Say("roof.fan.half"), Numeric: true}, {Head: views.Say("roof.fan.eight"), Numeric: true}, {Head: views.Say("roof.fan.then")}}}
	// What looks rated it at about an age.
	read := func(age float64) (out []views.Phrase) {
		for _, read := range fan.Readings {
			if whole(read.AgeYears) != whole(age) {
				continue
			}
			rated := views.Say("roof.fan.read", "rating", whole(read.Rating), "low", whole(read.Low), "high", whole(read.High))
			if name := slopes[read.Slope]; name != "" {
				rated = views.Say("roof.fan.read.slope", "slope", name, "rating", whole(read.Rating), "low", whole(read.Low), "high", whole(read.High))
			}
			out = append(out, rated)
		}
		return out
	}
	for _, a := range fan.Ages {
		notes := read(a.AgeYears)
		if whole(fan.TodayYears) == whole(a.AgeYears) {
			notes = append(notes, views.Say("roof.fan.today"))
		}
		numbers.Rows = append(numbers.Rows, views.NewRow(whole(a.AgeYears), whole(a.Middle), span(a.Lower, a.Upper), span(a.Low, a.High), notes))
	}
	return views.Chart{ID: "fan", Title: views.Say("roof.fan"), Summary: views.Say("roof.fan.summary", "line", whole(fan.Line)), Numbers: numbers,
		Draw: func(say func(any) string) (charts.Options, error) {
			points := make([]charts.FanPoint, len(fan.Ages))
			for i, a := range fan.Ages {
				told := []views.Phrase{views.Say("roof.fan.said", "age", whole(a.AgeYears), "low", whole(a.Low), "high", whole(a.High), "middle", whole(a.Middle))}
				points[i] = charts.FanPoint{At: a.AgeYears, Low: a.Low, Lower: a.Lower, Mid: a.Middle, Upper: a.Upper, High: a.High,
					Said: say(views.Say("roofs.place", "place", append(told, read(a.AgeYears)...)))}
			}
			var marks []charts.Mark
			for _, read := range fan.Readings {
				marks = append(marks, charts.Mark{At: read.AgeYears, Mid: read.Rating, Low: read.Low, High: read.High})
			}
			return charts.Fan(charts.Unit{Name: say(views.Say("roof.fan.across"))}, charts.Unit{Name: say(views.Say("roof.fan.up"))}, points, marks, fan.Line, fan.TodayYears)
		}}
}

func nextLooksTable(looks []portfolio.LookAhead) views.Table {
	t := views.Table{ID: "next-looks", Stacks: true, Caption: views.Say("roof.look.caption"), Columns: []views.Column{{Head: views.Say("roof.look.how")},
		{Head: views.Say("roof.look.now"), Numeric: true}, {Head: views.Say("roof.look.after"), Numeric: true}, {Head: views.Say("roof.look.narrower"), Numeric: true}, {Head: views.Say("roof.look.expected"), Numeric: true}}}
	for _, l := range looks {
		narrower := views.Say("roof.look.years", "years", oneDecimal(l.Worth.Narrowing))
		if l.Worth.Narrowing < 0.05 {
			narrower = views.Say("roof.look.none")
		}
		t.Rows = append(t.Rows, views.NewRow(views.Term("looked", string(l.Method)), views.Say("roof.look.wide", "years", oneDecimal(l.Worth.WidthNow)),
			views.Say("roof.look.wide", "years", oneDecimal(l.Worth.WidthAfter)), narrower,
			views.Say("roof.fan.span", "low", whole(l.Worth.Expected.Low), "high", whole(l.Worth.Expected.High))))
	}
	return t
}

// gainWords are what can be put right, by the name of its factor.
var gainWords = map[string]views.Phrase{"attic ventilation": views.Say("roof.gain.vents"), "gutters": views.Say("roof.gain.gutters")}

func gainsTable(gains []lifespan.Gain) views.Table {
	t := views.Table{ID: "gains", Stacks: true, Caption: views.Say("roof.gain.caption"), Columns: []views.Column{{Head: views.Say("roof.gain.what")}, {Head: views.Say("roof.gain.years"), Numeric: true}}}
	for _, g := range gains {
		what := views.Plain(g.Name)
		if words, known := gainWords[g.Name]; known {
			what = words
		}
		t.Rows = append(t.Rows, views.NewRow(what, views.Say("roof.gain.said", "middle", oneDecimal(g.Years.Middle), "low", oneDecimal(g.Years.Low), "high", oneDecimal(g.Years.High))))
	}
	return t
}
