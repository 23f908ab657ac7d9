package models

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"overhang/analytics/units"
)

// What a callback can be about: the trade's list of causes.
var Causes = []string{"flashing", "lap", "valley", "nail", "seal", "ice", "condensation", "wind", "material",
	"gutter", "other_trade", "storm", "nails_in_yard", "nothing_wrong"}

// LayingCauses are those of Causes that lie in how a roof was laid, and not in its
// design, its material, the weather or others' work. Our own judgement: wind takes
// what was not nailed or sealed well, ice and condensation come from the attic.
var LayingCauses = []string{"flashing", "lap", "valley", "nail", "seal", "wind", "gutter", "nails_in_yard"}

// CallbackStates, in the order that a callback passes them.
var CallbackStates = []string{"new", "to_look", "accepted", "refused", "repaired", "closed"}

// WaitingFor are what a callback can wait on.
var WaitingFor = []string{"weather", "owner", "maker", "insurer", "parts", "crew"}

// Bearers are who can bear the cost of a callback.
var Bearers = []string{"us", "goodwill", "maker", "subcontractor", "insurer", "owner"}

// RelaidKinds are what of the covering a repair can have laid anew.
var RelaidKinds = []string{"part", "whole_slope"}

// Callback is something wrong with our work, or said to be, from the call to
// its closing. House, roof, job and warranty may stay unknown at first.
type Callback struct {
	Row
	Ref            string      `json:"ref"`
	HouseID        *int64      `json:"house_id"`
	RoofID         *int64      `json:"roof_id"`
	JobID          *int64      `json:"job_id"`
	WarrantyID     *int64      `json:"warranty_id"`
	CrewID         *int64      `json:"crew_id"` // that did the job, as it was then
	LotID          *int64      `json:"lot_id"`
	SubcontractID  *int64      `json:"subcontract_id"`
	DetailID       *int64      `json:"detail_id"`
	ContactID      *int64      `json:"contact_id"`
	Caller         string      `json:"caller"`
	Phone          string      `json:"phone"`
	AddressGiven   string      `json:"address_given"` // as said on the telephone
	About          string      `json:"about"`
	WaterComingIn  bool        `json:"water_coming_in"`
	HappenedOn     units.Date  `json:"happened_on"`
	LearnedOn      units.Date  `json:"learned_on"`
	RingBackBy     *time.Time  `json:"ring_back_by"`
	RungBackAt     *time.Time  `json:"rung_back_at"`
	Attempts       int         `json:"attempts"` // to ring back
	State          string      `json:"state"`
	WaitingOn      string      `json:"waiting_on"`
	WaitingSince   units.Date  `json:"waiting_since"`
	CauseReported  string      `json:"cause_reported"`
	CauseFound     string      `json:"cause_found"`
	Place          string      `json:"place"`      // one of DetailKinds, or slope, eave, ridge, gutter, yard
	CoveredOn      units.Date  `json:"covered_on"` // temporary cover
	LookBy         units.Date  `json:"look_by"`    // as we promised when we learned of it
	LookedOn       units.Date  `json:"looked_on"`
	LookedVisitID  *int64      `json:"looked_visit_id"` // the visit that told LookedOn; nil where it was typed
	DecidedOn      units.Date  `json:"decided_on"`      // accepted or refused
	AcceptedFor    string      `json:"accepted_for"`    // what is accepted
	RefusedBecause string      `json:"refused_because"`
	RepairBy       units.Date  `json:"repair_by"` // as we promised when we accepted it
	RepairedOn     units.Date  `json:"repaired_on"`
	Relaid         string      `json:"relaid"`          // by the repair: one of RelaidKinds; empty is nothing
	RelaidSlopeID  *int64      `json:"relaid_slope_id"` // nil is anywhere
	RelaidArea     *units.Area `json:"relaid_area"`     // of a part, along the slope
	PaidOn         units.Date  `json:"paid_on"`         // the last of what it cost
	ClosedOn       units.Date  `json:"closed_on"`
	Bearer         string      `json:"bearer"`
	ReturnOf       *int64      `json:"return_of"` // the earlier callback that this one is the return of
	Notes          string      `json:"notes"`
}

// Noun is "callback".
func (*Callback) Noun() string { return "callback" }

// Places are where on a house a callback can be.
var Places = append([]string{"slope", "eave", "ridge", "rake", "gutter", "attic", "yard"}, DetailKinds...)

// Validate checks the rules of a callback.
func (c *Callback) Validate() error {
	var k checks
	k.required("ref", c.Ref)
	k.that(c.HouseID != nil || c.Caller != "" || c.Phone != "" || c.AddressGiven != "", "caller", "",
		"a house, or a caller's name, telephone or address is needed")
	k.text("caller", c.Caller, 120)
	k.phone("phone", c.Phone)
	k.text("address_given", c.AddressGiven, 200)
	k.text("about", c.About, 4000)
	k.text("notes", c.Notes, 4000)
	k.that(!c.LearnedOn.IsZero(), "learned_on", "", "is needed")
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"happened_on", c.HappenedOn}, {"learned_on", c.LearnedOn}, {"covered_on", c.CoveredOn}, {"looked_on", c.LookedOn},
		{"decided_on", c.DecidedOn}, {"repaired_on", c.RepairedOn}, {"closed_on", c.ClosedOn}, {"look_by", c.LookBy}, {"repair_by", c.RepairBy},
		{"waiting_since", c.WaitingSince}, {"paid_on", c.PaidOn}} {
		k.day(d.field, d.on)
	}
	k.order("happened_on", c.HappenedOn, "learned_on", c.LearnedOn)
	k.order("learned_on", c.LearnedOn, "closed_on", c.ClosedOn)
	k.order("looked_on", c.LookedOn, "repaired_on", c.RepairedOn)
	k.required("state", c.State)
	k.among("state", c.State, CallbackStates)
	k.that((c.State == "closed") == !c.ClosedOn.IsZero(), "closed_on", c.ClosedOn, "is set when the callback is closed, and only then")
	k.that(c.State != "refused" || c.RefusedBecause != "", "refused_because", "", "a refusal needs its reason")
	k.text("accepted_for", c.AcceptedFor, 400)
	k.text("refused_because", c.RefusedBecause, 1000)
	k.among("waiting_on", c.WaitingOn, WaitingFor)
	k.that(c.WaitingSince.IsZero() || c.WaitingOn != "", "waiting_on", "", "is needed with the day since when it waits")
	k.among("cause_reported", c.CauseReported, Causes)
	k.among("cause_found", c.CauseFound, Causes)
	k.among("place", c.Place, Places)
	k.among("bearer", c.Bearer, Bearers)
	number(&k, "attempts", &c.Attempts, 0, 100)
	c.checkRelaid(&k)
	return k.err()
}

func (c *Callback) checkRelaid(k *checks) {
	k.among("relaid", c.Relaid, RelaidKinds)
	if c.Relaid == "" {
		k.that(c.RelaidSlopeID == nil && c.RelaidArea == nil, "relaid", "", "say whether a part or the whole slope was laid anew")
		return
	}
	k.that(!c.RepairedOn.IsZero(), "relaid", c.Relaid, "is laid anew by a repair: give the day of the repair")
	if c.Relaid == "part" {
		k.that(c.RelaidArea != nil, "relaid_area", "", "is needed of a part that was laid anew")
	} else {
		k.that(c.RelaidSlopeID != nil, "relaid_slope_id", "", "is needed where a whole slope was laid anew")
		k.that(c.RelaidArea == nil, "relaid_area", c.RelaidArea, "is of a part; a whole slope has its own")
	}
	number(k, "relaid_area", c.RelaidArea, 0.01, 5000)
}

// next are the states that may follow each: forward, and back where somebody
// was mistaken or it did not hold.
var next = map[string][]string{
	"new":      {"to_look", "accepted", "refused"},
	"to_look":  {"accepted", "refused"},
	"accepted": {"repaired", "to_look", "refused", "closed"},
	"refused":  {"closed", "to_look", "accepted"},
	"repaired": {"closed", "accepted"},
	"closed":   {"repaired", "refused", "accepted"},
}

// NextStates are the states that may follow a state.
func NextStates(state string) []string { return next[state] }

// MayFollow checks that a callback may go from the state it was in to the one
// it is in now, and that what the step rests on is known.
func (c *Callback) MayFollow(was string) error {
	if c.State == was {
		return nil
	}
	var k checks
	k.that(slices.Contains(next[was], c.State), "state", c.State, "does not follow %s; after that it is one of %s", was, strings.Join(next[was], ", "))
	k.that(c.State != "accepted" || c.CauseFound != "nothing_wrong", "cause_found", c.CauseFound, "nothing wrong is refused, not accepted")
	k.that(c.State != "closed" || was != "accepted" || !c.RepairedOn.IsZero() || !c.PaidOn.IsZero(), "state", c.State,
		"does not follow accepted before the repair, unless it was settled by a payment: give the day of either")
	return k.err()
}

// LookedAt takes over what a visit that was done told of when the callback was looked at, and
// says whether that changed anything. Was is the visit as it was kept before, nil
// for a new one. The first look counts, typed or told by a visit: only the visit
// that told it moves it, and takes it back when it turns out to be for something
// else. A visit before we learned of the callback, or after its repair, was no
// look at it.
func (c *Callback) LookedAt(was, v *Visit) bool {
	looks := v.CallbackID != nil && *v.CallbackID == c.ID && v.DoneOn >= c.LearnedOn && (c.RepairedOn.IsZero() || v.DoneOn <= c.RepairedOn)
	own := was != nil && c.LookedVisitID != nil && *c.LookedVisitID == v.ID && c.LookedOn == was.DoneOn
	switch {
	case own && !looks:
		c.LookedOn, c.LookedVisitID = 0, nil
		return true
	case own:
		c.LookedOn = v.DoneOn
		return v.DoneOn != was.DoneOn
	case looks && c.Open() && c.LookedOn.IsZero() && (c.State != "repaired" || !c.RepairedOn.IsZero()):
		c.LookedOn, c.LookedVisitID = v.DoneOn, new(v.ID)
		return true
	}
	return false
}

// Kept counts how promised times were kept: of those that are due, and how many
// are not yet due.
type Kept struct{ Due, Kept, NotYet int }

// LeastForShare is how many promised times are due at the least for a share of
// them to be told. Of fewer one more or less moves it by a tenth: our own judgement.
const LeastForShare = 10

// Add counts one promised time, which is due or not, and was kept or not.
func (k *Kept) Add(due, kept bool) {
	switch {
	case !due:
		k.NotYet++
	case kept:
		k.Due, k.Kept = k.Due+1, k.Kept+1
	default:
		k.Due++
	}
}

// Share is the share of what was due that was kept, in whole per cent and never
// rounded up; false where too few were due to tell one.
func (k Kept) Share() (percent int, told bool) {
	if k.Due < LeastForShare {
		return 0, false
	}
	return 100 * k.Kept / k.Due, true
}

// CountRingBack counts the promise to ring back by a moment, given when it was done,
// nil for not yet. One whose callback was ended by then without it is left out, for
// nobody waits for it.
func (k *Kept) CountRingBack(c *Callback, by time.Time, done *time.Time, now time.Time, zone *time.Location) {
	ended := c.ClosedOn
	if c.State == "refused" {
		ended = c.DecidedOn
	}
	if local := by.In(zone); done == nil && !ended.IsZero() && ended <= units.NewDate(local.Year(), local.Month(), local.Day()) {
		return
	}
	k.Add(!by.After(now), done != nil && !done.After(by))
}

// CountLook counts the promise to look at a callback by a day, which is due when
// that day is over. One that was decided, repaired or closed by then without a look
// is left out, for none was needed.
func (k *Kept) CountLook(c *Callback, today units.Date) {
	if c.LookBy.IsZero() {
		return
	}
	if c.LookedOn.IsZero() {
		for _, settled := range []units.Date{c.DecidedOn, c.RepairedOn, c.ClosedOn} {
			if !settled.IsZero() && settled <= c.LookBy {
				return
			}
		}
	}
	k.Add(c.LookBy < today, !c.LookedOn.IsZero() && c.LookedOn <= c.LookBy)
}

// Open says whether somebody is still to do something for the caller.
func (c *Callback) Open() bool { return c.State != "closed" && c.State != "refused" }

// Wet says whether water is still coming in: nothing has been laid over it yet.
func (c *Callback) Wet() bool {
	return c.WaterComingIn && c.CoveredOn.IsZero() && c.Open() && c.State != "repaired"
}

// Ahead is what somebody is to do next for a callback, and by when we promised
// it.
type Ahead struct {
	Do   string     // one of AheadKinds
	By   *time.Time // promised to the moment
	On   units.Date // promised to the day
	Late bool
}

// AheadKinds are what can be next: ring the caller back, cover against the
// water, find the roof, look, decide, wait for WaitingOn, repair, settle the
// costs, close, tell the caller of the refusal, and nothing.
var AheadKinds = []string{"ring_back", "cover", "find", "look", "decide", "wait", "repair", "settle", "close", "tell", "nothing"}

// Ahead says what is next. Water that comes in is covered before anything but
// the ring-back, whatever the callback waits on.
func (c *Callback) Ahead(now time.Time, today units.Date) Ahead {
	day := func(do string, by units.Date) Ahead { return Ahead{Do: do, On: by, Late: !by.IsZero() && by < today} }
	looking := c.State == "new" || c.State == "to_look"
	switch {
	case c.State == "closed":
		return Ahead{Do: "nothing"}
	case c.State == "refused":
		return Ahead{Do: "tell"}
	case c.RungBackAt == nil && c.RingBackBy != nil:
		return Ahead{Do: "ring_back", By: c.RingBackBy, Late: c.RingBackBy.Before(now)}
	case c.Wet():
		return Ahead{Do: "cover"}
	case looking && c.WaitingOn != "":
		return Ahead{Do: "wait", On: c.LookBy, Late: c.LookedOn.IsZero() && !c.LookBy.IsZero() && c.LookBy < today}
	case looking && c.HouseID == nil:
		return Ahead{Do: "find", On: c.LookBy, Late: !c.LookBy.IsZero() && c.LookBy < today}
	case looking && c.LookedOn.IsZero():
		return day("look", c.LookBy)
	case looking:
		return Ahead{Do: "decide"}
	case c.State == "accepted" && c.WaitingOn != "":
		return day("wait", c.RepairBy)
	case c.State == "accepted":
		return day("repair", c.RepairBy)
	case c.PaidOn.IsZero():
		return Ahead{Do: "settle"}
	}
	return Ahead{Do: "close"}
}

// StepKinds are what a step of a callback's course can be. Those of a claim
// begin with claim_.
var StepKinds = []string{"tried", "reached", "covered", "looked", "accepted", "refused", "repaired", "paid", "closed", "reopened", "waits", "goes_on",
	"claim_filed", "claim_samples", "claim_visited", "claim_offered", "claim_answered", "claim_signed", "claim_paid"}

// CallbackStep is one step of a callback's course: what happened, when, and
// when we learned of it. A step is never changed; what was wrong is said by a
// later one.
type CallbackStep struct {
	Row
	CallbackID int64      `json:"callback_id"`
	ClaimID    *int64     `json:"claim_id"`
	Kind       string     `json:"kind"` // one of StepKinds
	On         units.Date `gorm:"column:on_day" json:"on"`
	LearnedOn  units.Date `json:"learned_on"`
	ByName     string     `json:"by_name"`
	Note       string     `json:"note"`
}

// Noun is "callback step".
func (*CallbackStep) Noun() string { return "callback step" }

// Validate checks the rules of a step.
func (s *CallbackStep) Validate() error {
	var k checks
	k.required("kind", s.Kind)
	k.among("kind", s.Kind, StepKinds)
	k.happened("on", s.On, "learned_on", s.LearnedOn)
	k.text("note", s.Note, 1000)
	return k.err()
}

// StaysAs checks a changed step against what is kept: nothing of it changes.
func (s *CallbackStep) StaysAs(was *CallbackStep) error {
	var k checks
	stays := func(field string, value any, same bool) {
		k.that(same, field, value, "of a kept step does not change; a later step says what was wrong")
	}
	stays("callback_id", s.CallbackID, s.CallbackID == was.CallbackID)
	stays("claim_id", s.ClaimID, Same(s.ClaimID, was.ClaimID))
	stays("kind", s.Kind, s.Kind == was.Kind)
	stays("on", s.On, s.On == was.On)
	stays("learned_on", s.LearnedOn, s.LearnedOn == was.LearnedOn)
	stays("by_name", s.ByName, s.ByName == was.ByName)
	stays("note", s.Note, plainText(s.Note) == plainText(was.Note))
	return k.err()
}

// happened checks the day of something that happened and the day we learned of
// it, which is not before.
func (c *checks) happened(field string, on units.Date, learnedField string, learned units.Date) {
	c.that(!on.IsZero(), field, "", "is needed")
	c.day(field, on)
	c.that(!learned.IsZero(), learnedField, "", "is needed")
	c.day(learnedField, learned)
	c.order(field, on, learnedField, learned)
}

// CostKinds are what a cost line can be. A recovery or credit lowers the cost.
var CostKinds = []string{"labour", "material", "subcontractor", "access", "disposal", "tax", "recovery", "credit"}

// CostLine is one cost of a callback. It is never changed: a wrong line is
// taken back by another of the opposite sign, and written anew.
type CostLine struct {
	Row
	CallbackID int64       `json:"callback_id"`
	On         units.Date  `gorm:"column:on_day" json:"on"`
	LearnedOn  units.Date  `json:"learned_on"`
	PaidOn     units.Date  `json:"paid_on"`
	Kind       string      `json:"kind"` // one of CostKinds
	Hours      *float64    `json:"hours"`
	Amount     units.Money `json:"amount"`   // without the tax; a recovery or credit is negative
	Tax        units.Money `json:"tax"`      // on the amount, of the same sign; 0 is none
	Bearer     string      `json:"bearer"`   // who bears this line; empty is who bears the callback
	Corrects   *int64      `json:"corrects"` // the line that this one takes back, or stands in the place of
	Note       string      `json:"note"`
}

// Noun is "cost line".
func (*CostLine) Noun() string { return "cost line" }

// Cost is the line with its tax.
func (c *CostLine) Cost() units.Money { return c.Amount + c.Tax }

// Lowers says whether the line is money that came back.
func (c *CostLine) Lowers() bool { return c.Kind == "recovery" || c.Kind == "credit" }

// taxed are the kinds of cost on which we pay tax to whoever sells to us, and
// get it back with a credit note. Our own hours bear none, a line of tax is one
// itself, and what somebody pays us back is whole as it comes: common practice,
// no source. Where local law is otherwise, the tax is typed.
var taxed = []string{"material", "subcontractor", "access", "disposal", "credit"}

// Price gives a cost line the amount and the tax that were typed for it. What
// was left empty is nil and is worked out: hours of labour cost the branch's
// burdened rate, and what is bought or credited bears the branch's tax. A typed
// nought stays nought. An amount that is left empty with no hours of labour to
// make it of gives an error.
func (b *Branch) Price(c *CostLine, amount, tax *units.Money) error {
	switch {
	case amount != nil:
		c.Amount = *amount
	case c.Kind == "labour" && c.Hours != nil:
		c.Amount = b.LabourRate.Times(*c.Hours)
	default:
		return FieldErrorf("amount", "", "is needed, unless it is labour with its hours; write 0 for what costs nothing")
	}
	c.Tax = 0
	switch {
	case tax != nil:
		c.Tax = *tax
	case slices.Contains(taxed, c.Kind):
		c.Tax = taxOn(c.Amount, b.TaxRate)
	}
	return nil
}

// taxOn is the tax on an amount, half a cent rounded away from zero. The rate is
// taken to a millionth, in which every rate of a law can be written, so that
// half a cent is one: 0.00725 of 2000 cents are 14.5 and not a trace less.
func taxOn(amount units.Money, rate float64) units.Money {
	const millionth = 1_000_000
	tax := int64(amount) * int64(math.Round(rate*millionth))
	if tax < 0 {
		return units.Money((tax - millionth/2) / millionth)
	}
	return units.Money((tax + millionth/2) / millionth)
}

// Reverses says whether the line takes another one back: its sign is not that
// of its kind.
func (c *CostLine) Reverses() bool {
	negative := c.Cost() < 0 || c.Hours != nil && *c.Hours < 0
	return c.Corrects != nil && (negative && !c.Lowers() || c.Cost() > 0 && c.Lowers())
}

// Reversal is the line that takes this one back, to the cent, as we learned on
// a day that it was wrong.
func (c *CostLine) Reversal(learned units.Date) CostLine {
	r := *c
	r.Row, r.LearnedOn = Row{}, max(learned, c.On)
	r.Amount, r.Tax, r.Corrects = -c.Amount, -c.Tax, &c.ID
	if c.Hours != nil {
		back := -*c.Hours
		r.Hours = &back
	}
	return r
}

// StaysAs checks a changed cost line against what is kept: what it cost, who bears
// it and when we learned of it stay. When it was paid can be written down later, and
// a note.
func (c *CostLine) StaysAs(was *CostLine) error {
	var k checks
	stays := func(field string, value any, same bool) {
		k.that(same, field, value, "of a kept line does not change: another line takes it back with the opposite sign and says which it corrects, and a third stands in its place")
	}
	stays("callback_id", c.CallbackID, c.CallbackID == was.CallbackID)
	stays("on", c.On, c.On == was.On)
	stays("kind", c.Kind, c.Kind == was.Kind)
	stays("learned_on", c.LearnedOn, c.LearnedOn == was.LearnedOn)
	stays("hours", c.Hours, Same(c.Hours, was.Hours))
	stays("amount", c.Amount, c.Amount == was.Amount)
	stays("tax", c.Tax, c.Tax == was.Tax)
	stays("bearer", c.Bearer, c.Bearer == was.Bearer)
	stays("corrects", c.Corrects, Same(c.Corrects, was.Corrects))
	return k.err()
}

// Validate checks the rules of a cost line.
func (c *CostLine) Validate() error {
	var k checks
	k.happened("on", c.On, "learned_on", c.LearnedOn)
	k.day("paid_on", c.PaidOn)
	k.required("kind", c.Kind)
	k.among("kind", c.Kind, CostKinds)
	k.among("bearer", c.Bearer, Bearers)
	const most = 10_000_000 * units.Dollar
	fewest := 0.0
	if c.Corrects != nil {
		fewest = -10000
	}
	number(&k, "hours", c.Hours, fewest, 10000)
	number(&k, "amount", &c.Amount, -most, most)
	number(&k, "tax", &c.Tax, -most, most)
	if c.Corrects == nil {
		k.that(!c.Lowers() || c.Amount <= 0, "amount", c.Amount, "a recovery or credit is written as a negative amount")
		k.that(c.Lowers() || c.Amount >= 0, "amount", c.Amount, "a cost is not negative; use recovery or credit, or correct the wrong line")
	}
	k.that(c.Tax == 0 || (c.Tax < 0) == (c.Amount < 0), "tax", c.Tax, "has the sign of its amount")
	k.text("note", c.Note, 400)
	return k.err()
}

// Borne is what one bearer has of a callback's cost.
type Borne struct {
	Bearer string      // empty while nobody has said who
	Cost   units.Money // with tax, less credits
	Back   units.Money // recovered
}

// Left is what is not recovered.
func (b Borne) Left() units.Money { return b.Cost - b.Back }

// BorneBy adds cost lines up by who bears them, in the order of Bearers with
// what nobody has been named for last. The sums lose no cent: all that is left
// adds up to all lines.
func BorneBy(lines []CostLine, bearer string) []Borne {
	by := map[string]*Borne{}
	for i := range lines {
		line := &lines[i]
		who := cmp.Or(line.Bearer, bearer)
		b := by[who]
		if b == nil {
			b = &Borne{Bearer: who}
			by[who] = b
		}
		if line.Kind == "recovery" {
			b.Back -= line.Cost()
		} else {
			b.Cost += line.Cost()
		}
	}
	var out []Borne
	for _, who := range append(slices.Clone(Bearers), "") {
		if b := by[who]; b != nil {
			out = append(out, *b)
		}
	}
	return out
}
