package intake

import (
	"overhang/analytics/units"
	"overhang/models"
)

// Claim is a row of a file of claims.
type Claim struct {
	models.Claim
	CallbackRef string
	WarrantyRef string
}

// Claims ask others to bear what callbacks cost.
var Claims = &Sheet[Claim]{
	name:  "claims",
	about: "Claims on makers, subcontractors and insurers for callbacks. What was paid on one stands among the costs of its callback too, as a recovery.",
	columns: []column[Claim]{
		textColumn("ref", "our own number of the claim", 40, func(c *Claim) *string { return &c.Ref }, key, example[Claim]("K-0001", "K-0002")),
		refColumn("callback_ref", "the callback", func(c *Claim) *string { return &c.CallbackRef }, example[Claim]("B-0001", "B-0002")),
		refColumn("warranty_ref", "under which it is made", func(c *Claim) *string { return &c.WarrantyRef }),
		wordColumn("against", "on whom it is", models.ClaimedOn, func(c *Claim) *string { return &c.Against }, example[Claim]("subcontractor", "maker")),
		textColumn("who", "", 120, func(c *Claim) *string { return &c.Who }, example[Claim]("Bench Sheet Metal", "Invented Shingle Works")),
		textColumn("number", "that the other has given it", 60, func(c *Claim) *string { return &c.Number }, example[Claim]("", "77-1204")),
		dayColumn("file_by", "", func(c *Claim) *units.Date { return &c.FileBy }, example[Claim]("", "2021-05-10")),
		dayColumn("filed_on", "", func(c *Claim) *units.Date { return &c.FiledOn }, example[Claim]("2021-03-15", "2021-04-14")),
		dayColumn("samples_sent_on", "", func(c *Claim) *units.Date { return &c.SamplesSentOn }, example[Claim]("", "2021-04-15")),
		dayColumn("visited_on", "they came to look", func(c *Claim) *units.Date { return &c.VisitedOn }),
		dayColumn("offered_on", "", func(c *Claim) *units.Date { return &c.OfferedOn }, example[Claim]("2021-03-25", "")),
		maybe("offer", "", parseMoney, writeMoney, func(c *Claim) **units.Money { return &c.Offer }, []option[Claim]{money[Claim], example[Claim]("105.00", "")}),
		dayColumn("answer_by", "last day to answer the offer", func(c *Claim) *units.Date { return &c.AnswerBy }),
		dayColumn("answered_on", "", func(c *Claim) *units.Date { return &c.AnsweredOn }, example[Claim]("2021-03-26", "")),
		wordColumn("answer", "an offer is accepted or declined by us; a claim is refused by them or withdrawn by us", models.ClaimAnswers,
			func(c *Claim) *string { return &c.Answer }, example[Claim]("accepted", "")),
		sureColumn("release_asked", "no where it is empty", func(c *Claim) *bool { return &c.ReleaseAsked }, example[Claim]("no", "no")),
		textColumn("release_read_by", "who read it for us before it was signed", 120, func(c *Claim) *string { return &c.ReleaseReadBy }),
		dayColumn("release_signed_on", "", func(c *Claim) *units.Date { return &c.ReleaseSignedOn }),
		dayColumn("paid_on", "", func(c *Claim) *units.Date { return &c.PaidOn }, example[Claim]("2021-04-02", "")),
		maybe("paid", "", parseMoney, writeMoney, func(c *Claim) **units.Money { return &c.Paid }, []option[Claim]{money[Claim], example[Claim]("105.00", "")}),
		textColumn("notes", "", 4000, func(c *Claim) *string { return &c.Notes }),
	},
	check: func(c *Claim) []models.FieldError { return rules(&c.Claim) },
}
