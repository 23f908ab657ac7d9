package views

import (
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
)

// ClaimsPage lists claims, those with a day to keep first.
type ClaimsPage struct {
	Frame
	Parts []NavEntry
	Table Table
}

// Template is "claims".
func (ClaimsPage) Template() string { return "claims" }

// ClaimPage is the course of one claim.
type ClaimPage struct {
	Frame
	Facts []Fact
	Sign  bool  // a release is asked for and not signed yet
	Form  *Form // nil for those who only see it
	Story []Event
}

// Template is "claim".
func (ClaimPage) Template() string { return "claim" }

// NewClaimForm starts a claim.
func NewClaimForm(f Frame, action string, c *models.Claim) *Form {
	return f.Form("claim", action, Say("claim.start"),
		Field{Name: "against", Kind: One, Label: Say("claim.against"), Value: c.Against, Options: options(models.ClaimedOn, bearerTerm)},
		Field{Name: "who", Kind: Text, Label: Say("claim.who"), Hint: Say("claim.who.hint"), Value: c.Who},
		Field{Name: "number", Kind: Text, Label: Say("claim.number"), Value: c.Number},
		Field{Name: "file_by", Kind: Day, Label: Say("claim.file.by"), Hint: Say("claim.file.by.hint"), Value: dayText(c.FileBy)},
		Field{Name: "filed_on", Kind: Day, Label: Say("claim.filed"), Value: dayText(c.FiledOn)})
}

// ClaimForm takes a claim through its course: what matters now is asked for, and
// what is behind or still ahead is tucked away.
func ClaimForm(f Frame, action string, c *models.Claim) *Form {
	money := func(m *units.Money) string {
		if m == nil {
			return ""
		}
		return plainMoney(*m)
	}
	yesNo := []Option{{"yes", Say("yes")}, {"no", Say("no")}}
	asked := "no"
	if c.ReleaseAsked {
		asked = "yes"
	}
	day := func(name string, label Phrase, on units.Date) Field {
		return Field{Name: name, Kind: Day, Label: label, Value: dayText(on)}
	}
	answered := day("answered_on", Say("claim.answered"), c.AnsweredOn)
	answered.Hint = Say("claim.answered.hint")
	filed, offered, paid := !c.FiledOn.IsZero(), !c.OfferedOn.IsZero(), c.Paid != nil
	form := f.Form("claim", action, Say("callback.save"), Field{Name: "version", Kind: Hidden, Value: strconv.FormatInt(c.Version, 10)})
	group := func(now bool, heading Phrase, fields ...Field) {
		if now {
			form.Group(heading, fields...)
		} else {
			form.Tuck(heading, fields...)
		}
	}
	group(!filed, Say("claim.filing"),
		Field{Name: "against", Kind: One, Label: Say("claim.against"), Value: c.Against, Options: options(models.ClaimedOn, bearerTerm)},
		Field{Name: "who", Kind: Text, Label: Say("claim.who"), Value: c.Who, Required: true},
		Field{Name: "number", Kind: Text, Label: Say("claim.number"), Value: c.Number},
		day("file_by", Say("claim.file.by"), c.FileBy), day("filed_on", Say("claim.filed"), c.FiledOn))
	group(filed && !offered && c.Answer == "" && !paid, Say("claim.look"),
		day("samples_sent_on", Say("claim.samples"), c.SamplesSentOn), day("visited_on", Say("claim.visited"), c.VisitedOn))
	group(filed && c.Answer == "" && !paid, Say("claim.offer.part"),
		day("offered_on", Say("claim.offered"), c.OfferedOn), Field{Name: "offer", Kind: Number, Label: Say("claim.offer"), Value: money(c.Offer)},
		day("answer_by", Say("claim.answer.by"), c.AnswerBy),
		Field{Name: "answer", Kind: Choice, Label: Say("claim.answer"), Value: c.Answer,
			Options: append([]Option{{"", Say("claim.answer.none")}}, options(models.ClaimAnswers, func(v string) Phrase { return Term("claim_answer", v) })...)},
		answered)
	group(offered && (c.Answer == "" || c.Answer == "accepted") && c.ReleaseSignedOn.IsZero() && !paid, Say("claim.release"),
		Field{Name: "release_asked", Kind: One, Label: Say("claim.release.asked"), Hint: Say("claim.release.hint"), Value: asked, Options: yesNo},
		Field{Name: "release_read_by", Kind: Text, Label: Say("claim.release.read"), Value: c.ReleaseReadBy},
		day("release_signed_on", Say("claim.release.signed"), c.ReleaseSignedOn))
	group(c.Answer == "accepted" && !paid, Say("claim.payment"),
		day("paid_on", Say("claim.paid.on"), c.PaidOn),
		Field{Name: "paid", Kind: Number, Label: Say("claim.paid"), Hint: Say("claim.paid.hint"), Value: money(c.Paid)})
	return form.Group(Phrase{}, Field{Name: "notes", Kind: Long, Label: Say("callback.notes"), Value: c.Notes})
}
