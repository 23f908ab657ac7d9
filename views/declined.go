package views

import (
	"strconv"

	"overhang/models"
)

// DeclinedForm asks for work that was declined in writing.
func DeclinedForm(f Frame, action, cancel string, jobs []models.Job) *Form {
	options := make([]Option, len(jobs))
	for i, j := range jobs {
		options[i] = Option{strconv.FormatInt(j.ID, 10), Plain(j.Ref)}
		if !j.ClosedOn.IsZero() {
			options[i].Label = Say("promise.job.closed", "job", j.Ref, "day", j.ClosedOn)
		}
	}
	form := f.Form("declined", action, Say("declined.keep"),
		Field{Name: "what", Kind: Text, Label: Say("declined.what"), Hint: Say("declined.what.hint"), Required: true},
		Field{Name: "signed_on", Kind: Day, Label: Say("declined.signed"), Hint: Say("declined.signed.hint"), Required: true},
		Field{Name: "job_id", Kind: Choice, Label: Say("promise.job"), Options: options, Required: true})
	form.Cancel = cancel
	return form
}
