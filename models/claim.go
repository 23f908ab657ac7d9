package models

import "overhang/analytics/units"

// ClaimedOn are whom a claim can be made on.
var ClaimedOn = []string{"maker", "subcontractor", "insurer"}

// ClaimAnswers are how a claim can end: the offer was accepted or declined by
// us, or the claim was refused by the other, or withdrawn by us.
var ClaimAnswers = []string{"accepted", "declined", "refused", "withdrawn"}

// Claim asks a maker, a subcontractor or an insurer to bear what a callback
// costs. What is paid on it is a cost line of its own, a recovery.
type Claim struct {
	Row
	Ref             string       `json:"ref"`
	CallbackID      int64        `json:"callback_id"`
	WarrantyID      *int64       `json:"warranty_id"` // under which it is made
	Against         string       `json:"against"`     // one of ClaimedOn
	Who             string       `json:"who"`
	Number          string       `json:"number"` // that the other has given it
	FileBy          units.Date   `json:"file_by"`
	FiledOn         units.Date   `json:"filed_on"`
	SamplesSentOn   units.Date   `json:"samples_sent_on"`
	VisitedOn       units.Date   `json:"visited_on"` // they came to look
	OfferedOn       units.Date   `json:"offered_on"`
	Offer           *units.Money `json:"offer"`
	AnswerBy        units.Date   `json:"answer_by"` // last day to answer the offer
	AnsweredOn      units.Date   `json:"answered_on"`
	Answer          string       `json:"answer"` // one of ClaimAnswers
	ReleaseAsked    bool         `json:"release_asked"`
	ReleaseReadBy   string       `json:"release_read_by"` // who read it for us before it was signed
	ReleaseSignedOn units.Date   `json:"release_signed_on"`
	PaidOn          units.Date   `json:"paid_on"`
	Paid            *units.Money `json:"paid"`
	CostLineID      *int64       `json:"cost_line_id"` // the recovery that the payment made
	Notes           string       `json:"notes"`
}

// Noun is "claim".
func (*Claim) Noun() string { return "claim" }

// Open says whether something is still to come of the claim.
func (c *Claim) Open() bool { return c.PaidOn.IsZero() && (c.Answer == "" || c.Answer == "accepted") }

// DueBy is the day that we have to keep next: to file it, or to answer the
// offer. It is zero when there is none.
func (c *Claim) DueBy() units.Date {
	switch {
	case c.FiledOn.IsZero():
		return c.FileBy
	case c.Answer == "":
		return c.AnswerBy
	}
	return 0
}

// Validate checks the rules of a claim: its steps have their order, money needs
// its day, and a release is signed only after somebody has read it for us.
func (c *Claim) Validate() error {
	var k checks
	k.required("ref", c.Ref)
	k.text("ref", c.Ref, 40)
	k.that(c.CallbackID != 0, "callback_id", "", "a claim needs its callback")
	k.required("against", c.Against)
	k.among("against", c.Against, ClaimedOn)
	k.required("who", c.Who)
	k.text("who", c.Who, 120)
	k.text("number", c.Number, 60)
	k.text("release_read_by", c.ReleaseReadBy, 120)
	k.text("notes", c.Notes, 4000)
	for _, d := range []struct {
		field string
		on    units.Date
	}{{"file_by", c.FileBy}, {"filed_on", c.FiledOn}, {"samples_sent_on", c.SamplesSentOn}, {"visited_on", c.VisitedOn}, {"offered_on", c.OfferedOn},
		{"answer_by", c.AnswerBy}, {"answered_on", c.AnsweredOn}, {"release_signed_on", c.ReleaseSignedOn}, {"paid_on", c.PaidOn}} {
		k.day(d.field, d.on)
	}
	for _, later := range []struct {
		field string
		on    units.Date
	}{{"visited_on", c.VisitedOn}, {"offered_on", c.OfferedOn}, {"answered_on", c.AnsweredOn}, {"release_signed_on", c.ReleaseSignedOn}, {"paid_on", c.PaidOn}} {
		k.that(later.on.IsZero() || !c.FiledOn.IsZero(), "filed_on", "", "is needed before %s", later.field)
		k.order("filed_on", c.FiledOn, later.field, later.on)
	}
	k.order("offered_on", c.OfferedOn, "answered_on", c.AnsweredOn)
	k.order("offered_on", c.OfferedOn, "release_signed_on", c.ReleaseSignedOn)
	number(&k, "offer", c.Offer, 0, 10_000_000*units.Dollar)
	number(&k, "paid", c.Paid, 1, 10_000_000*units.Dollar)
	k.that(c.Offer == nil || !c.OfferedOn.IsZero(), "offered_on", "", "an offer needs its day")
	k.among("answer", c.Answer, ClaimAnswers)
	k.that((c.Answer == "") == c.AnsweredOn.IsZero(), "answered_on", c.AnsweredOn, "is set with the answer, and only then")
	k.that((c.Answer != "accepted" && c.Answer != "declined") || !c.OfferedOn.IsZero(), "offered_on", "", "is needed: only an offer is accepted or declined")
	k.that(c.ReleaseSignedOn.IsZero() || c.ReleaseReadBy != "", "release_read_by", "", "is needed before a release is signed: have it read, it may end more than this claim")
	k.that(c.ReleaseSignedOn.IsZero() || c.ReleaseAsked, "release_asked", "", "is yes when a release was signed")
	k.that((c.Paid == nil) == c.PaidOn.IsZero(), "paid_on", c.PaidOn, "what is paid and its day go together")
	k.that(c.Paid == nil || c.Answer == "" || c.Answer == "accepted", "paid", "", "nothing is paid on a claim that was declined, refused or withdrawn")
	return k.err()
}
