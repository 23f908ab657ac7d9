package server

import (
	"strconv"
	"strings"

	"overhang/analytics/details"
	"overhang/analytics/icing"
	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/analytics/venting"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

// roofTopics is what the roof itself says, for its own page: its attics, the ice
// at its eaves, the water in its gutters, its details, and its quantities.
func roofTopics(r *Request, page *service.RoofPage) []views.RoofTopic {
	var out []views.RoofTopic
	out = append(out, atticTopics(r, page)...)
	if len(page.Says.Eaves) > 0 {
		out = append(out, iceTopic(r, page))
	}
	if len(page.Says.Gutters) > 0 {
		out = append(out, waterTopic(r, page))
	}
	if d := page.Says.Details; d != nil && len(d.Findings) > 0 {
		out = append(out, detailsTopic(d))
	}
	return append(out, quantitiesTopic(r, page))
}

func verdictWord(v units.Verdict) views.Phrase {
	return views.Term("verdict", strings.ReplaceAll(string(v), " ", "_"))
}

// worst is the verdict of several: a failure, then what is not known.
func worst(list ...units.Verdict) units.Verdict {
	out := units.Passes
	for _, v := range list {
		if v == units.Fails || (v == units.NotKnown && out == units.Passes) {
			out = v
		}
	}
	return out
}

// measures words the fields that a calculation asks for, each once. A field
// within a list or another field is named by itself.
func measures(lists ...[]string) []views.Phrase {
	var out []views.Phrase
	seen := map[string]bool{}
	for _, list := range lists {
		for _, field := range list {
			if i := strings.LastIndex(field, "."); i >= 0 {
				field = field[i+1:]
			}
			for _, unit := range []string{"_in2", "_cm2", "_ft2", "_m2", "_in", "_mm", "_ft", "_m", "_12", "_rise_in"} {
				field = strings.TrimSuffix(field, unit)
			}
			key := measureWords[field]
			if key == "" || seen[key] {
				continue
			}
			seen[key] = true
			out = append(out, views.Term("measure", key))
		}
	}
	return out
}

// measureWords are the fields that somebody can measure or look for, by the
// word for each. What is asked once the rest is known, such as a part of a
// winter's balance, is left out.
var measureWords = map[string]string{
	"plan_area": "attic_area", "insulated_ceiling_area": "attic_area", "ceiling_area": "attic_area", "vapour_retarder_class": "retarder", "climate_zone": "climate_zone",
	"openings": "vents", "intake": "vents", "exhaust": "vents", "clear_space": "clear_space", "baffles": "clear_space", "ducts": "ducts", "ducts_ending_in_attic": "ducts", "ducts_end_in_attic": "ducts",
	"insulation": "insulation", "insulation_r": "insulation", "ceiling_leaks": "leaks", "vent_height": "rafter", "heated_slope": "rafter", "rafter": "rafter",
	"cover": "eave_cover", "reach": "eave_cover", "cemented_layers": "eave_cover", "overhang": "overhang", "wall": "wall", "edge_to_inner_face": "wall", "rise": "pitch", "rise_in": "pitch", "pitch": "pitch",
	"knee_walls": "kneewalls", "kneewalls": "kneewalls", "dead_valley": "valleys", "saddle": "saddle", "valley_to_short_eave": "outline", "valleys": "outline", "outline": "outline", "runs": "outline",
	"drop": "lip", "below_roof_plane": "lip", "width": "gutter_size", "depth": "gutter_size", "fall_in_per_10": "fall", "fall_ratio": "fall",
	"count": "downspouts", "downspout": "downspouts", "outlets": "downspouts", "at": "downspouts", "rain_in_per_h": "rain", "kind": "gutter_kind",
	"lap_share": "lap", "lower_edge_on_top": "lap", "form": "form", "meets_ridge": "meets_ridge", "lining": "form", "drains": "drains",
	"format": "covering", "bundles_per_square": "covering", "shingles_per_bundle": "covering", "nails_per_shingle": "covering", "length": "length", "eave": "length",
}

// atticTopics tell how each attic is ventilated, and how warm it runs.
func atticTopics(r *Request, page *service.RoofPage) []views.RoofTopic {
	checked := map[int64]portfolio.AtticVenting{}
	for _, c := range page.Venting {
		checked[c.Attic.ID] = c
	}
	heat := map[int64]portfolio.AtticHeat{}
	for _, h := range page.Says.Attics {
		heat[h.Attic.ID] = h
	}
	var out []views.RoofTopic
	for i := range page.File.Attics {
		a := &page.File.Attics[i]
		if !a.EndedOn.IsZero() {
			continue
		}
		t := views.RoofTopic{Key: "ventilation-" + strconv.FormatInt(a.ID, 10), Title: views.Say("says.ventilation", "attic", a.Name)}
		var asked []string
		c, found := checked[a.ID]
		rule := c.Rule()
		if !found || rule == nil {
			t.Says = append(t.Says, (views.Say("roof.venting.unmeasured")))
		} else {
			asked = ventingTopic(r, rule, c.Result, &t)
		}
		if h, found := heat[a.ID]; found {
			t.Says = append(t.Says, plain(h.Result.Says)...)
			t.Notes = append(t.Notes, h.Result.Warnings...)
			life := h.Result.Ageing.LifeFactor
			t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("says.life"), Value: views.Say("says.life.range", "least", percentMore(life.Least), "most", percentMore(life.Most)),
				Note: (views.Say("says.life.note", "place", h.Result.Place, "slope", h.Slope))})
			for _, way := range h.Result.Ways {
				t.Facts = append(t.Facts, views.RoofTopicFact{Term: way.Says, Value: views.Say("says.life.way", "share", percentMore(way.LifeFactor))})
			}
			asked = append(asked, h.Result.Measure...)
		}
		t.Measure = measures(asked)
		out = append(out, t)
	}
	return out
}

// percentMore words a factor as so many hundredths more or less.
func percentMore(f float64) string {
	v := 100 * (f - 1)
	sign := "+"
	if v < 0 {
		sign, v = "−", -v
	}
	return sign + strconv.FormatFloat(v, 'f', 1, 64) + " %"
}

func plain(list []string) []views.Phrase {
	out := make([]views.Phrase, len(list))
	for i, text := range list {
		out[i] = views.Plain(text)
	}
	return out
}

func ventingTopic(r *Request, rule *venting.RuleResult, result venting.Result, t *views.RoofTopic) (asked []string) {
	t.Verdict = verdictWord(rule.Verdict)
	t.Says = []views.Phrase{views.Plain(rule.Cites + ": " + rule.Why + ".")}
	if rule.Asked != nil {
		t.Says[0] = (views.Say("says.venting", "asked", rule.Asked.Write(r.Units), "there", rule.Total.Write(r.Units), "high", rule.High.Write(r.Units), "low", rule.Low.Write(r.Units)))
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("roof.venting.asked"), Value: rule.Asked.Write(r.Units), Note: views.Plain(rule.Cites + ": " + rule.Why + "."), Source: rule.Source})
	}
	if rule.Margin != nil {
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("says.venting.margin"), Value: rule.Margin.Write(r.Units)})
	}
	for _, o := range result.Openings {
		name := o.Name
		if name == "" {
			name = string(o.Kind)
		}
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: name, Value: o.Net.Write(r.Units), Source: o.Source})
	}
	for _, c := range result.Checks {
		if c.Verdict == units.Passes && c.Remedy == "" {
			t.Facts = append(t.Facts, views.RoofTopicFact{Term: c.Says, Value: verdictWord(c.Verdict), Note: views.Plain(c.Cites), Source: c.Source})
			continue
		}
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: c.Says, Value: verdictWord(c.Verdict), Note: views.Plain(strings.TrimSpace(c.Cites + " " + c.Remedy)), Source: c.Source})
		if c.Verdict == units.Fails {
			t.Says = append(t.Says, views.Plain(c.Says))
		}
		asked = append(asked, c.Measure...)
	}
	for _, c := range rule.Conditions {
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: c.Says, Value: verdictWord(c.Verdict)})
	}
	if bill := rule.Bill; bill != nil {
		for _, step := range bill.Steps {
			t.Remedies = append(t.Remedies, views.RoofTopicStep{Does: step.Says, Why: step.Caution})
		}
		if len(bill.Steps) > 0 && bill.IntakeAfter != nil && bill.ExhaustAfter != nil {
			t.After = views.Say("says.venting.after", "intake", bill.IntakeAfter.Write(r.Units), "exhaust", bill.ExhaustAfter.Write(r.Units), "verdict", verdictWord(bill.Verdict))
		}
		t.Notes = append(t.Notes, bill.Lacks...)
		t.Notes = append(t.Notes, bill.Notes...)
		asked = append(asked, bill.Measure...)
	}
	t.Cautions = result.Cautions
	t.Notes = append(t.Notes, rule.Notes...)
	for _, w := range result.Warnings {
		t.Notes = append(t.Notes, w.Says)
	}
	t.Drawings = []views.LineDrawing{ventBalance(r, rule, result).Draw()}
	return append(asked, rule.Measure...)
}

func ventBalance(r *Request, rule *venting.RuleResult, result venting.Result) views.VentBars {
	v := views.VentBars{IntakeLeast: rule.Low.Least, IntakeMost: rule.Low.Most, ExhaustLeast: rule.High.Least, ExhaustMost: rule.High.Most,
		HighFrom: rule.HighFrom, HighTo: rule.HighTo, LowFrom: rule.LowFrom, Units: r.Units}
	if rule.Asked != nil {
		v.Asked = &rule.Asked.Least
	}
	for _, o := range result.Openings {
		if o.Height == venting.Low {
			v.Blocked += o.Blocked.Least
		}
	}
	return v
}

// iceTopic tells how far protection reaches at the eaves, and how likely ice is.
func iceTopic(r *Request, page *service.RoofPage) views.RoofTopic {
	t := views.RoofTopic{Key: "ice", Title: views.Say("says.ice")}
	var verdicts []units.Verdict
	show := 0 // the eave that is told of and drawn
	for i := range page.Says.Eaves {
		e := &page.Says.Eaves[i]
		rule := e.Rule()
		if rule == nil {
			continue
		}
		verdicts = append(verdicts, rule.Verdict)
		if telling(e) > telling(&page.Says.Eaves[show]) {
			show = i
		}
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("says.eave", "slope", e.Slope.Name), Value: lengthSpan(r, rule.There), Verdict: verdictWord(rule.Verdict), Note: views.Plain(rule.Says), Source: rule.Source})
		index := views.RoofTopicFact{Term: views.Say("says.index", "slope", e.Slope.Name), Value: views.Say("says.index.range", "word", e.Index.Word, "least", e.Index.Least, "most", e.Index.Most),
			Source: e.Index.Physics.Source}
		note := e.Index.Physics.Says
		for _, s := range e.Index.Judgement {
			if s.Points != nil && *s.Points > 0 {
				note += " " + s.Why
			}
		}
		index.Note = views.Plain(note)
		t.Facts = append(t.Facts, index)
	}
	t.Verdict = verdictWord(worst(verdicts...))
	e := &page.Says.Eaves[show]
	rule := e.Rule()
	if rule == nil {
		return t
	}
	t.Says = plain([]string{e.Slope.Name + ": " + rule.Says, e.Index.Says, e.Protection.Plainly})
	done := map[string]bool{}
	add := func(list []icing.Remedy) {
		for _, remedy := range list {
			if !done[remedy.Key] {
				done[remedy.Key] = true
				t.Remedies = append(t.Remedies, views.RoofTopicStep{Does: remedy.Says})
			}
		}
	}
	// What lessens the ice comes before what only limits its leaks.
	if e.Index.Word != "low" {
		add(e.Index.Remedies)
	}
	add(rule.Remedies)
	t.Measure = measures(rule.Measure, e.Index.Measure)
	for _, c := range e.Protection.Cautions {
		t.Cautions = append(t.Cautions, c.Says)
	}
	t.Notes = append(append(t.Notes, rule.Notes...), e.Index.Notes...)
	if s := eaveSketch(r, page, e, rule); s != nil {
		t.Drawings = append(t.Drawings, *s)
	}
	return t
}

// telling is how much there is to tell of an eave: one that falls short comes
// first, then those whose overhang is known, as one was measured of it.
func telling(e *portfolio.EaveSays) int {
	points := 0
	if rule := e.Rule(); rule != nil && rule.Verdict == units.Fails {
		points += 4
	}
	if e.Slope.Overhang != nil {
		points += 2
	}
	if e.Slope.EaveReach != nil {
		points++
	}
	return points
}

func lengthSpan(r *Request, s *icing.Span) any {
	switch {
	case s == nil || s.Least == nil:
		return views.Say("unknown")
	case s.Most == nil:
		return views.Say("sketch.atleast", "least", r.Units.SmallLength(*s.Least))
	case *s.Most-*s.Least > 1e-6:
		return views.Say("sketch.between", "least", r.Units.SmallLength(*s.Least), "most", r.Units.SmallLength(*s.Most))
	}
	return r.Units.SmallLength(*s.Least)
}

// eaveSketch draws the section through one eave with its gutter; nil where the
// pitch is not known.
func eaveSketch(r *Request, page *service.RoofPage, e *portfolio.EaveSays, rule *icing.EaveRule) *views.LineDrawing {
	if e.Slope.Pitch == nil {
		return nil
	}
	section := views.EaveCut{Pitch: *e.Slope.Pitch, Overhang: e.Slope.Overhang, Reach: e.Slope.EaveReach, Cover: views.Term("eave_cover", e.Slope.EaveCover), Units: r.Units}
	if e.Slope.EaveCover == "" {
		section.Cover = views.Say("unknown")
	}
	if n := rule.Need; n != nil && rule.Required != icing.No && n.Least != nil && n.Most != nil && *n.Most-*n.Least < 0.2*units.Metre {
		section.Need = n.Most
	}
	for _, b := range page.File.Structures {
		if b.ID == e.Slope.StructureID {
			section.Wall = b.Wall
		}
	}
	for _, a := range page.File.Attics {
		if e.Slope.AtticID != nil && a.ID == *e.Slope.AtticID {
			section.ClearSpace = a.ClearSpace
		}
	}
	for _, g := range page.Says.Gutters {
		if g.Slope.ID != e.Slope.ID {
			continue
		}
		section.GutterKind, section.GutterWidth, section.GutterDepth = g.Run.Kind, g.Run.Width, g.Run.Depth
		section.LipReach, section.LipDrop = g.Run.LipReach, g.Run.LipDrop
		for _, stream := range g.Result.Streams {
			if stream.Where == "eave" {
				speed := stream.Speed.Least
				if stream.Speed.Most != nil {
					speed = *stream.Speed.Most
				}
				section.SheetSpeed = &speed
			}
		}
	}
	s := section.Draw()
	return &s
}

// waterTopic tells whether the design rain stays in the gutters.
func waterTopic(r *Request, page *service.RoofPage) views.RoofTopic {
	t := views.RoofTopic{Key: "water", Title: views.Say("says.water")}
	var verdicts []units.Verdict
	var asked []string
	for _, g := range page.Says.Gutters {
		for _, c := range g.Result.Checks {
			verdicts = append(verdicts, c.Verdict)
			t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("says.gutter", "gutter", g.Run.Name, "check", views.Term("gutter_check", c.Key)), Value: verdictWord(c.Verdict), Note: views.Plain(c.Says), Source: c.Source})
			if c.Verdict == units.Fails {
				t.Says = append(t.Says, views.Plain(g.Run.Name+": "+c.Says))
				for _, remedy := range c.Remedies {
					t.Remedies = append(t.Remedies, views.RoofTopicStep{Does: g.Run.Name + ": " + remedy.Says})
				}
			}
			asked = append(asked, c.Measure...)
			t.Notes = append(t.Notes, c.Notes...)
		}
		t.Notes = append(t.Notes, g.Result.Notes...)
		for _, table := range g.Result.Tables {
			if !table.Agrees {
				t.Notes = append(t.Notes, table.Says)
			}
		}
		t.Cautions = append(t.Cautions, g.Result.Cautions...)
	}
	t.Verdict = verdictWord(worst(verdicts...))
	if len(t.Says) == 0 {
		t.Says = []views.Phrase{(views.Say("says.water.fine", "count", len(page.Says.Gutters)))}
		if worst(verdicts...) == units.NotKnown {
			t.Says = []views.Phrase{(views.Say("says.water.unknown"))}
		}
	}
	t.Measure, t.Notes, t.Cautions = measures(asked), once(t.Notes), once(t.Cautions)
	return t
}

func once(list []string) []string {
	var out []string
	seen := map[string]bool{}
	for _, s := range list {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// detailsTopic tells of the places where water tends to find its way in, the
// worst first.
func detailsTopic(d *details.Result) views.RoofTopic {
	t := views.RoofTopic{Key: "details-judged", Title: views.Say("says.details"), Says: plain([]string{d.Says}), Cautions: d.Cautions, Notes: d.Notes}
	var verdicts []units.Verdict
	var asked []string
	for _, f := range d.Findings {
		verdicts = append(verdicts, f.Verdict)
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: f.Detail, Value: verdictWord(f.Verdict), Note: views.Plain(f.Says + " " + f.Why), Source: strings.TrimSpace(f.Cites + ". " + f.Source)})
		if f.Verdict == units.Fails && f.Remedy != "" {
			t.Remedies = append(t.Remedies, views.RoofTopicStep{Does: f.Says + " " + f.Remedy, Why: f.Caution})
		}
		asked = append(asked, f.Measure...)
	}
	t.Verdict, t.Measure = verdictWord(worst(verdicts...)), measures(asked)
	return t
}

// quantitiesTopic tells what it takes to lay the roof again.
func quantitiesTopic(r *Request, page *service.RoofPage) views.RoofTopic {
	t := views.RoofTopic{Key: "quantities", Title: views.Say("roof.order")}
	if s := planOf(r, page).Draw(); s != nil {
		t.Drawings = append(t.Drawings, *s)
	}
	off := page.Says.TakeOff
	if off == nil {
		t.Says = []views.Phrase{(views.Say("roof.order.none"))}
		return t
	}
	t.Says = append(t.Says, views.Plain(off.Says))
	fact := func(term views.Phrase, value any) {
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: term, Value: value})
	}
	if o := off.Order; o != nil {
		fact(views.Say("roof.order.area"), r.Units.RoofArea(o.Area))
		t.Facts = append(t.Facts, views.RoofTopicFact{Term: views.Say("roof.order.squares"), Value: oneDecimal(o.SquaresWithWaste), Note: views.Plain(off.Waste.Says)})
		count := func(term views.Phrase, n *int) {
			if n != nil {
				fact(term, *n)
			}
		}
		count(views.Say("roof.order.bundles"), o.Bundles)
		count(views.Say("roof.order.nails"), o.Nails)
		if o.Sheet != nil {
			fact(views.Say("roof.order.sheet"), *o.Sheet)
		}
		count(views.Say("says.membrane.rolls"), off.Materials.Membrane.Rolls)
		count(views.Say("says.drip"), off.Lengths.DripEdgePieces)
		count(views.Say("says.steps"), off.Materials.StepFlashing)
	}
	for _, l := range []struct {
		term   views.Phrase
		length *units.Length
	}{{views.Term("run", "eave"), off.Lengths.Eave}, {views.Term("run", "rake"), off.Lengths.Rake}, {views.Term("run", "ridge"), off.Lengths.Ridge}, {views.Term("run", "hip"), off.Lengths.Hip},
		{views.Term("run", "valley"), off.Lengths.Valley}, {views.Term("run", "starter"), off.Lengths.Starter}, {views.Term("run", "cap"), off.Lengths.Cap}} {
		if l.length != nil && *l.length > 0 {
			fact(l.term, *l.length)
		}
	}
	t.Notes = append(append(t.Notes, off.Materials.Says...), off.Notes...)
	if off.Plan != nil {
		t.Notes = append(t.Notes, off.Plan.Notes...)
		for _, w := range off.Plan.Warnings {
			t.Notes = append(t.Notes, w.Says)
		}
	}
	for _, w := range off.Warnings {
		t.Notes = append(t.Notes, w.Says)
	}
	t.Measure, t.Notes = measures(off.Measure), once(t.Notes)
	return t
}

// planOf is the plan of a roof's slopes with its gutters.
func planOf(r *Request, page *service.RoofPage) views.PlanView {
	p := views.PlanView{Units: r.Units}
	gutter := map[int64]bool{}
	for _, g := range page.File.Gutters {
		if g.SlopeID != nil && g.EndedOn.IsZero() {
			gutter[*g.SlopeID] = true
		}
	}
	for _, s := range portfolio.StandingSlopes(page.File) {
		p.Slopes = append(p.Slopes, planSlope(s, gutter[s.ID]))
	}
	if off := page.Says.TakeOff; off != nil && off.Plan != nil {
		for _, d := range off.Plan.Drains {
			for _, pour := range d.Pours {
				p.Pours = append(p.Pours, views.PlanViewPoint{X: pour.Point.X, Y: pour.Point.Y})
			}
		}
	}
	return p
}

func planSlope(s models.Slope, gutter bool) views.PlanViewSlope {
	return views.PlanViewSlope{Name: s.Name, Outline: s.Outline, Pitch: s.Pitch, Facing: s.Facing, Area: s.Area, Gutter: gutter}
}
