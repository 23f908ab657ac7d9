package details

import (
	"fmt"
	"math"

	"overhang/analytics/units"
)

// The figures of the rules; each rule's source stands in rules.go.
const (
	lapRight = 2.0 / 3 // of a flange that courses cover: common practice, no source
	lapLeast = 0.6     // still "about two thirds": our judgement
	lapMost  = 0.85    // above it the lower edge may be buried: our judgement

	saddleOver       = 30 * inch // IRC R903.2.2, R1003.20 (second-hand)
	saddleOverCanada = 0.75      // NBC 9.26.4. (from memory)

	openLining       = 24 * inch // IRC R905.2.8.2 (read)
	openLiningCanada = 0.6       // NBC 9.26.4. (from memory)
	closedLining     = 36 * inch // IRC R905.2.8.2, smooth roll (read)

	leg = 4 * inch // IRC R905.2.8.3 (read)

	dripLap   = 2 * inch  // IRC R905.2.8.5 (second-hand), as the three that follow
	dripBelow = inch / 4  //
	dripOnto  = 2 * inch  //
	dripApart = 12 * inch //
	burdened  = 3         // slopes: our judgement
	slack     = 0.5 * mm  // by which the codes' metric and inch figures differ
	asbestos  = "Old stucco and cement siding may hold asbestos: have it tested before anybody cuts it."
	brittle   = "Old shingles crack when lifted, most of all in the cold: have spares, and do it in mild, dry weather."
	wallWork  = "What stands behind may be wet or rotten: have the sheathing probed before it is closed."
)

// check gives the findings of one detail.
func (d detail) check() []Finding {
	switch d.Kind {
	case "penetration":
		return append([]Finding{d.lapped()}, d.saddled()...)
	case "kickout_flashing":
		return []Finding{d.kickedOut()}
	case "step_flashing":
		return append([]Finding{d.stepped()}, d.stepSize()...)
	case "headwall":
		return []Finding{d.flashed("headwall_flashing", Serious, "Water that runs down the wall must be led over the top course, not behind it.")}
	case "drip_edge":
		return append([]Finding{d.dripping()}, d.dripSizes()...)
	case "eave_cover":
		return []Finding{d.covered()}
	case "valley":
		return append(d.valley(), d.burden())
	case "dead_valley":
		out := []Finding{d.deadEnd()}
		if d.Drains != nil {
			out = append(out, d.burden())
		}
		return out
	case "chimney":
		return append([]Finding{d.flashed("chimney_flashing", Serious, "All the water that meets a chimney must be led round it by its flashing.")}, d.saddled()...)
	default:
		return append([]Finding{d.flashed("skylight_flashing", Serious, "A skylight is a hole in the roof: only its flashing keeps water and melting snow out.")}, d.saddled()...)
	}
}

// lapped judges how the courses lap the flange of a penetration.
func (d detail) lapped() Finding {
	f := d.finding("penetration_lap", ofPractice, Serious, "Water runs down over the courses: it must meet the flange on top of what lies above and leave it on top of what lies below.")
	f.Remedy = "Have the courses around it opened and relaid: top and sides of the flange under the courses, the lower edge on top, about two thirds of it covered; a cracked boot is renewed with it."
	f.Caution = brittle
	if !math.IsNaN(d.share) {
		m := d.share - lapRight
		f.MarginShare = &m
	}
	percent := fmt.Sprintf("%.0f %%", d.share*100)
	switch {
	case d.Form == "missing":
		f.Verdict, f.Severity, f.MarginShare = Fails, Grave, nil
		f.Says = fmt.Sprintf("%s: there is no flange; only sealant keeps water out.", d.label)
		f.Remedy = "Have it flashed with a flange or boot of its own, top and sides under the courses, the lower edge on top."
	case d.LowerEdgeOnTop != nil && !*d.LowerEdgeOnTop:
		f.Verdict, f.Severity = Fails, Grave
		f.Says = fmt.Sprintf("%s: the lower edge of the flange is buried under the courses, so that water which reaches the flange runs below them.", d.label)
	case d.TopAndSidesUnder != nil && !*d.TopAndSidesUnder:
		f.Verdict, f.Severity = Fails, Grave
		f.Says = fmt.Sprintf("%s: the top or a side of the flange lies on the courses, so that water runs under it.", d.label)
	case d.share < lapLeast-1e-9:
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: the courses cover %s of the flange, %.0f %% short of the two thirds that are right.", d.label, percent, (lapRight-d.share)*100)
	case math.IsNaN(d.share):
		f.Says = fmt.Sprintf("%s: how much of the flange the courses cover is not known.", d.label)
		f.Measure = []string{"lap_share"}
		if d.LowerEdgeOnTop == nil {
			f.Measure = append(f.Measure, "lower_edge_on_top")
		}
	case d.LowerEdgeOnTop == nil:
		f.Says = fmt.Sprintf("%s: the courses cover %s of the flange; whether its lower edge lies on top of them is not known.", d.label, percent)
		f.Measure = []string{"lower_edge_on_top"}
	case d.share > lapMost:
		f.Says = fmt.Sprintf("%s: the courses cover %s of the flange, so that hardly anything is left to lie on top: look again whether the lower edge is buried.", d.label, percent)
		f.Measure = []string{"lap_share", "lower_edge_on_top"}
	default:
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: the lap is right: the courses cover %s of the flange and its lower edge lies on top.", d.label, percent)
	}
	if d.Form == "reused" && f.Verdict == Passes {
		f.Verdict, f.Severity = Fails, Minor
		f.Says = fmt.Sprintf("%s: the lap is right, but the flange is the old one, whose collar will not last as long as the shingles.", d.label)
		f.Remedy = "Have the boot or flange renewed, at the latest with the next covering."
	}
	return f
}

// kickedOut judges the piece that turns water away from the wall at the foot of
// a slope.
func (d detail) kickedOut() Finding {
	f := d.finding("kickout_flashing", kickout, Serious, "Where an eave ends against a wall, all the water of the wall's flashing runs to one spot: without a kickout it runs down behind the cladding.")
	f.Remedy = "Have a kickout flashing set at the foot of the step flashing, behind the cladding, so that it throws the water into the gutter."
	f.Caution = wallWork
	where := "the wall"
	switch d.cladding {
	case "stucco":
		where = "a stucco wall"
		f.Why += " Stucco hides it for years while the sheathing rots."
		f.Caution = wallWork + " " + asbestos
	case "siding", "brick", "stone":
		where = map[string]string{"siding": "a sided wall", "brick": "a brick wall", "stone": "a stone wall"}[d.cladding]
	}
	switch d.Form {
	case "missing":
		f.Verdict = Fails
		if d.cladding == "stucco" {
			f.Severity = Grave
		}
		f.Says = fmt.Sprintf("%s: the kickout flashing above %s is missing.", d.label, where)
		if d.cladding == "" || d.cladding == "mixed" {
			f.Says += " Above stucco that would be grave."
			f.Measure = []string{"wall_cladding"}
		}
	case "reused":
		f.Verdict, f.Severity = Fails, Minor
		f.Says = fmt.Sprintf("%s: the old kickout flashing was left in place; look whether it still throws the water into the gutter.", d.label)
		f.Cites, f.Source = practice, practice
	case "new":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: there is a kickout flashing.", d.label)
	default:
		f.Says = fmt.Sprintf("%s: whether there is a kickout flashing above %s is not known.", d.label, where)
		f.Measure = []string{"form"}
		if d.cladding == "stucco" {
			f.Severity = Grave
		}
	}
	return f
}

// stepped judges whether step flashing is there and new.
func (d detail) stepped() Finding {
	f := d.flashed("step_flashing", Serious, "Each course needs its own piece along a wall: old pieces do not fit new courses, carry old nail holes and rust.")
	if f.Verdict == Fails && d.cladding == "stucco" {
		f.Says += " On a stucco wall the pieces stand behind the stucco."
		f.Remedy = "Have the stucco cut back above the roof, every course given a new piece, and the wall closed with a weep or reglet that lets it be renewed next time."
		f.Caution = wallWork + " " + asbestos
	}
	return f
}

// flashed judges flashing by its form.
func (d detail) flashed(key string, severity Severity, why string) Finding {
	f := d.finding(key, ofPractice, severity, why)
	if d.Kind == "step_flashing" {
		f.Cites, f.Source, _ = d.cite(sidewall)
	}
	f.Remedy = "Have new flashing fitted with the covering, laced into the courses and led behind the cladding or let into the masonry; sealant alone does not do."
	f.Caution = wallWork
	if d.Kind == "chimney" {
		f.Caution = "A chimney may be loose or in use: its mortar and flue are for a mason or a licensed technician."
	}
	if d.Kind == "skylight" {
		f.Remedy = "Have the maker's own flashing set renewed with the covering; an old skylight is best renewed at the same time."
		f.Caution = "Nobody steps on a skylight: it does not carry a person."
	}
	switch d.Form {
	case "missing":
		f.Verdict, f.Severity = Fails, Grave
		f.Says = fmt.Sprintf("%s: the flashing is missing.", d.label)
	case "reused":
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: the old flashing was reused under the new covering.", d.label)
		f.Cites, f.Source = practice, practice
	case "new":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: the flashing is new.", d.label)
	default:
		f.Says = fmt.Sprintf("%s: whether the flashing is new, reused or missing is not known.", d.label)
		f.Measure = []string{"form"}
	}
	return f
}

// size judges a length that must be at least (or at most) so much.
func (d detail) size(key string, r rule, there, bound float64, atMost bool, what, why, remedy string) Finding {
	f := d.finding(key, r, Minor, why)
	m := there - bound
	word := "at least"
	if atMost {
		m, word = -m, "at most"
	}
	margin := units.Length(m)
	f.Margin, f.Remedy, f.Caution = &margin, remedy, brittle
	f.Verdict = Passes
	if m < -slack {
		f.Verdict = Fails
	}
	f.Says = fmt.Sprintf("%s: %s is %s, %s %s asked", d.label, what, d.small(there), word, d.small(bound))
	if f.Verdict == Fails {
		f.Says += fmt.Sprintf(": %s off", d.small(-m))
	}
	f.Says += "."
	return f
}

func (d detail) stepSize() []Finding {
	var out []Finding
	const why, remedy = "A short leg lets water that is blown or backs up get past it.", "Have the pieces renewed at full size with the covering."
	if !math.IsNaN(d.wallLeg) {
		out = append(out, d.size("step_flashing_wall_leg", sidewall, d.wallLeg, leg, false, "the leg up the wall", why, remedy))
	}
	if !math.IsNaN(d.roofLeg) {
		out = append(out, d.size("step_flashing_roof_leg", sidewall, d.roofLeg, leg, false, "the leg onto the roof", why, remedy))
	}
	return out
}

// dripping judges whether there is a drip edge.
func (d detail) dripping() Finding {
	f := d.finding("drip_edge", dripEdge, Serious, "Without a drip edge water creeps back under the shingles and rots the deck's edge and the fascia.")
	f.Remedy = "Have a drip edge fitted at eaves and rakes: under the underlayment at the eave and over it at the rake. At a full re-roof it costs little; under shingles that stay it is hard to fit."
	f.Caution = brittle
	switch d.Form {
	case "missing":
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: there is no drip edge.", d.label)
	case "reused":
		f.Verdict, f.Severity = Fails, Minor
		f.Says = fmt.Sprintf("%s: the old drip edge was reused; look for rust, bends and old nail holes.", d.label)
		f.Cites, f.Source = practice, practice
	case "new":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: there is a drip edge.", d.label)
	default:
		f.Says = fmt.Sprintf("%s: whether there is a drip edge is not known.", d.label)
		f.Measure = []string{"form"}
	}
	return f
}

func (d detail) dripSizes() []Finding {
	var out []Finding
	const why, remedy = "It must overlap, reach and hold enough for water to drip off it and not behind.", "Have it refitted with the covering to these sizes."
	for _, q := range []struct {
		key          string
		there, bound float64
		atMost       bool
		what         string
	}{
		{"drip_edge_lap", d.lap, dripLap, false, "the lap at its joints"},
		{"drip_edge_below_deck", d.belowDeck, dripBelow, false, "its reach below the sheathing"},
		{"drip_edge_onto_deck", d.ontoDeck, dripOnto, false, "its reach onto the deck"},
		{"drip_edge_fasteners", d.apart, dripApart, true, "the way between fasteners"},
	} {
		if !math.IsNaN(q.there) {
			out = append(out, d.size(q.key, dripEdge, q.there, q.bound, q.atMost, q.what, why, remedy))
		}
	}
	return out
}

// covered judges what lies under the shingles at the eave by its kind; how far
// it must reach is for the ice barrier's own check.
func (d detail) covered() Finding {
	f := d.finding("eave_cover", eaveCover, Serious, "Where ice backs water up, only what seals round the nails keeps it out. Membrane limits leaks; it does not stop ice dams.")
	f.Remedy = "At the next re-roof have the eave stripped to the deck and self-adhered membrane laid from the edge, as far up as the code asks."
	f.Caution = "Nobody chops, torches or salts the ice meanwhile."
	switch d.Form {
	case "membrane":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: membrane lies at the eave; how far it must reach is checked apart.", d.label)
	case "poly":
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: a sheet of polyethylene lies at the eave in place of membrane; it does not seal round nails and holds water against the deck.", d.label)
	case "felt":
		f.Says = fmt.Sprintf("%s: felt lies at the eave; it counts only as two layers cemented together, and only where protection is asked for, which is checked apart.", d.label)
	case "none":
		f.Says = fmt.Sprintf("%s: nothing lies at the eave besides the shingles; whether protection is asked for goes by climate, slope and overhang, and is checked apart.", d.label)
	default:
		f.Says = fmt.Sprintf("%s: what lies under the shingles at the eave is not known.", d.label)
		f.Measure = []string{"form"}
	}
	return f
}

// saddled judges whether a wide chimney, penetration or skylight has a saddle on
// its upper side. A narrow one gives a finding only for a chimney.
func (d detail) saddled() []Finding {
	limit := saddleOver
	if d.canadian() {
		limit = saddleOverCanada
	}
	wide := d.width > limit+slack
	if d.Kind != "chimney" && !wide {
		return nil
	}
	if d.Kind == "skylight" {
		f := d.finding("skylight_saddle", ofPractice, Serious, "Snow and water stand above a wide skylight.")
		f.Judgement = true
		f.Source = "IRC R903.2.2 lets a unit skylight that is flashed to its maker's sheet go without a saddle (from memory); that one helps where snow lies is our judgement"
		f.Remedy = "Ask whether the maker's sheet wants a saddle at this width, and have one built at the next re-roof."
		f.Caution = "Nobody steps on a skylight: it does not carry a person."
		f.Says = fmt.Sprintf("%s: it is %s wide; whether it wants a saddle above it is for the maker's sheet.", d.label, d.small(d.width))
		if d.Saddle != nil && *d.Saddle {
			f.Verdict, f.Says = Passes, fmt.Sprintf("%s: a saddle stands above it.", d.label)
		}
		return []Finding{f}
	}
	r := saddleOf[d.Kind]
	f := d.finding(d.Kind+"_saddle", r, Grave, "Water, leaves and snow stand above whatever is wide, and find the way in behind it.")
	f.Remedy = "Have a saddle built above it, flashed into the courses"
	f.Caution = "A saddle is framed and flashed work for a roofer; masonry and flue are for a mason."
	if !math.IsNaN(d.width) && wide {
		over := units.Length(limit - d.width)
		f.Margin = &over
		if !math.IsNaN(d.pitch) {
			h := SaddleHeight(units.Length(d.width), units.Pitch(d.pitch))
			f.SaddleHeight = &h
			f.Remedy += fmt.Sprintf(", %s high on this slope (half its width times the slope)", d.system.SmallLength(h))
		}
	}
	f.Remedy += "."
	switch {
	case d.Saddle != nil && *d.Saddle:
		f.Verdict, f.Margin = Passes, nil
		f.Says = fmt.Sprintf("%s: a saddle stands above it.", d.label)
		if f.SaddleHeight != nil {
			f.Says += fmt.Sprintf(" On this slope it should be %s high.", d.system.SmallLength(*f.SaddleHeight))
		}
	case d.MeetsRidge != nil && *d.MeetsRidge:
		f.Verdict, f.Margin, f.SaddleHeight = Passes, nil, nil
		f.Says = fmt.Sprintf("%s: it stands at the ridge, so that nothing drains to it and no saddle is needed.", d.label)
	case math.IsNaN(d.width):
		f.Says = fmt.Sprintf("%s: over %s wide it needs a saddle; its width is not known.", d.label, d.small(limit))
		f.Measure = []string{"width_in"}
		if d.Saddle == nil {
			f.Measure = append(f.Measure, "saddle")
		}
	case !wide:
		over := units.Length(limit - d.width)
		f.Verdict, f.Margin = Passes, &over
		f.Says = fmt.Sprintf("%s: it is %s wide, and a saddle is asked for above %s only.", d.label, d.small(d.width), d.small(limit))
	case d.Saddle == nil:
		f.Says = fmt.Sprintf("%s: it is %s wide and needs a saddle above it; whether one stands there is not known.", d.label, d.small(d.width))
		f.Measure = []string{"saddle"}
		if d.MeetsRidge == nil {
			f.Measure = append(f.Measure, "meets_ridge")
		}
	case d.MeetsRidge == nil:
		f.Says = fmt.Sprintf("%s: it is %s wide, %s more than goes without a saddle, and has none; only at the ridge would that be right.", d.label, d.small(d.width), d.small(d.width-limit))
		f.Measure = []string{"meets_ridge"}
	default:
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: it is %s wide, %s more than goes without a saddle, and has none.", d.label, d.small(d.width), d.small(d.width-limit))
	}
	return []Finding{f}
}

// valley judges the form of a valley against the covering, and its lining.
func (d detail) valley() []Finding {
	f := d.finding("valley_form", ofPractice, Serious, "A valley carries the water of two slopes: the covering must be able to be laid that way without gaps.")
	f.Remedy = "At the next re-roof have the valley laid open over metal."
	f.Caution = "Nobody walks in a valley: it is the easiest place to slip and to crack."
	asphalt := d.covering == "asphalt_strip" || d.covering == "asphalt_organic" || d.covering == "asphalt_laminated" || d.covering == "asphalt_interlocking"
	way := map[string]string{"woven": "woven", "closed_cut": "closed and cut", "open_metal": "open over metal"}[d.Form]
	switch {
	case d.Form == "missing":
		f.Verdict, f.Severity = Fails, Grave
		f.Says = fmt.Sprintf("%s: the valley has no lining or flashing of its own.", d.label)
		f.Cites, f.Source, _ = d.cite(valleyRule)
	case d.Form == "reused":
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: the old lining was reused under the new covering.", d.label)
	case d.Form == "" || d.Form == "new":
		f.Says = fmt.Sprintf("%s: how the valley is laid is not known.", d.label)
		f.Measure = []string{"form"}
	case d.Form == "open_metal":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: an open metal valley suits every covering that is laid in courses.", d.label)
	case d.covering == "":
		f.Says = fmt.Sprintf("%s: the valley is %s; whether that suits goes by the covering, which is not known.", d.label, way)
		f.Measure = []string{"covering"}
	case d.covering == "asphalt_interlocking" && d.Form == "woven":
		f.Verdict, f.Severity = Fails, Grave
		f.Says = fmt.Sprintf("%s: interlocking shingles are never woven into a valley: their tabs cannot lock across it.", d.label)
	case (d.covering == "asphalt_interlocking" && d.Form == "closed_cut") || (d.covering == "asphalt_laminated" && d.Form == "woven"):
		f.Says = fmt.Sprintf("%s: the valley is %s; whether this shingle may be laid so is for its maker's sheet.", d.label, way)
	case d.covering == "low_slope_membrane":
		f.Says = fmt.Sprintf("%s: the valley is called %s, which a membrane is not; look again.", d.label, way)
		f.Measure = []string{"form", "covering"}
	case !asphalt:
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: the valley is %s, which is for asphalt shingles; this covering wants it open over metal.", d.label, way)
	default:
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: the valley is %s, which suits this shingle.", d.label, way)
	}
	return append([]Finding{f}, d.lining()...)
}

// lining judges how wide the lining of a valley is.
func (d detail) lining() []Finding {
	const why, remedy = "Water from one slope shoots up the other side of a valley: the lining must reach farther than it does.", "At the next re-roof have the valley lined at full width."
	switch {
	case d.Form == "open_metal":
		least := openLining
		if d.canadian() {
			least = openLiningCanada
		}
		if !math.IsNaN(d.width) {
			f := d.size("valley_lining", valleyRule, d.width, least, false, "the metal's width", why, remedy)
			f.Severity = Serious
			return []Finding{f}
		}
		f := d.finding("valley_lining", valleyRule, Serious, why)
		f.Says = fmt.Sprintf("%s: the metal must be at least %s wide; its width is not known.", d.label, d.small(least))
		f.Measure = []string{"width_in"}
		return []Finding{f}
	case d.canadian() || (d.Form != "woven" && d.Form != "closed_cut"):
		return nil // no figure known
	}
	f := d.finding("valley_lining", valleyRule, Serious, why)
	f.Remedy, f.Caution = remedy, brittle
	switch {
	case d.Lining == "membrane":
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: self-adhered membrane lines the valley.", d.label)
	case math.IsNaN(d.width):
		f.Says = fmt.Sprintf("%s: a closed valley is lined with %s of roll roofing, %s of metal, or membrane; the lining is not known.", d.label, d.small(closedLining), d.small(openLining))
		f.Measure = []string{"width_in"}
		if d.Lining == "" {
			f.Measure = append(f.Measure, "lining")
		}
	case d.Lining == "metal":
		f = d.size("valley_lining", valleyRule, d.width, openLining, false, "the lining's width", why, remedy)
		f.Severity = Serious
	case d.Lining == "" && d.width < closedLining-slack:
		f.Says = fmt.Sprintf("%s: a closed valley is lined with %s of roll roofing, %s of metal, or membrane; which of them the lining of %s is is not known.", d.label, d.small(closedLining), d.small(openLining), d.small(d.width))
		f.Measure = []string{"lining"}
	default:
		f = d.size("valley_lining", valleyRule, d.width, closedLining, false, "the lining's width", why, remedy)
		f.Severity = Serious
	}
	return []Finding{f}
}

// burden judges how many slopes drain into one valley.
func (d detail) burden() Finding {
	f := d.finding("valley_burdened", ofPractice, Serious, "The more slopes drain into one valley, the deeper and faster its water runs, and the sooner it wears and overshoots the gutter.")
	f.Judgement, f.Source = true, "our judgement: the water of three slopes in one valley is a burden"
	f.Remedy = "Have it laid open over wide metal with a rib in its middle at the next re-roof, the gutter below it sized for it, and the valley looked at and cleared twice a year."
	f.Caution = "Clearing is for a dry day with fall protection."
	switch {
	case d.Drains == nil:
		f.Severity = Minor
		f.Says = fmt.Sprintf("%s: how many slopes drain into it is not known.", d.label)
		f.Measure = []string{"drains"}
	case *d.Drains >= burdened:
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: it takes the water of %d slopes and is burdened (our judgement).", d.label, *d.Drains)
	default:
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: it takes the water of %s.", d.label, plural(*d.Drains, "slope"))
	}
	return f
}

// deadEnd judges a valley that ends against a wall.
func (d detail) deadEnd() Finding {
	f := d.finding("dead_valley_saddle", ofPractice, Grave, "In a valley that ends against a wall, water, leaves and snow stand and find the way in.")
	f.Remedy = "Have a saddle built that leads the water out to one side, and all of it covered with membrane for low slopes, turned up the wall."
	f.Caution = wallWork
	switch {
	case d.Saddle == nil:
		f.Says = fmt.Sprintf("%s: whether a saddle leads the water out of the dead valley is not known.", d.label)
		f.Measure = []string{"saddle"}
	case *d.Saddle:
		f.Verdict = Passes
		f.Says = fmt.Sprintf("%s: a saddle leads the water out of the dead valley.", d.label)
	default:
		f.Verdict = Fails
		f.Says = fmt.Sprintf("%s: no saddle leads the water out of the dead valley.", d.label)
	}
	return f
}
