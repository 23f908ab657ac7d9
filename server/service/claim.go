package service

import (
	"context"
	"slices"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// ClaimFile is one claim with the callback that it is about.
type ClaimFile struct {
	Claim    models.Claim
	Callback models.Callback
	Steps    []models.CallbackStep // of the claim
	Left     units.Money           // of the callback's cost, what the other bears and has not paid back
	Today    units.Date
}

// ClaimDays is how many days ahead the day of a claim is shown on Today.
const ClaimDays = 14

// Claim reads one claim.
func (s *Service) Claim(ctx context.Context, who Actor, id int64) (*ClaimFile, error) {
	if err := who.need(EditCosts); err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	claim, err := store.Get[models.Claim](q, id)
	if err != nil {
		return nil, err
	}
	callback, err := store.Get[models.Callback](q, claim.CallbackID)
	if err != nil {
		return nil, err
	}
	f := &ClaimFile{Claim: *claim, Callback: *callback, Today: s.Today(set)}
	if f.Steps, err = store.List[models.CallbackStep](q, "on_day, id", "claim_id = ?", id); err != nil {
		return nil, err
	}
	lines, err := store.List[models.CostLine](q, "id", "callback_id = ?", claim.CallbackID)
	for _, b := range models.BorneBy(lines, callback.Bearer) {
		if b.Bearer == claim.Against {
			f.Left = b.Left()
		}
	}
	return f, err
}

// Claims lists claims, those with a day to keep first: all that something is
// still to come of, or every one.
func (s *Service) Claims(ctx context.Context, who Actor, every bool) ([]store.ClaimRow, error) {
	if err := who.need(EditCosts); err != nil {
		return nil, err
	}
	return store.Claims(s.Store.Query(ctx), every)
}

// NewClaim starts a claim for a callback. Where the callback is under a
// maker's warranty that asks for notice in so many days, the last day to file
// it follows from the day we learned of the fault.
func (s *Service) NewClaim(ctx context.Context, who Actor, c *models.Claim) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		callback, err := store.Get[models.Callback](tx.Query, c.CallbackID)
		if err != nil {
			return err
		}
		if err := claimTerms(tx.Query, c, callback); err != nil {
			return err
		}
		if c.Ref, err = nextRef[models.Claim](tx.Query, "K"); err != nil {
			return err
		}
		paid, paidOn := c.Paid, c.PaidOn
		c.Paid, c.PaidOn = nil, 0
		if err := tx.Create(c); err != nil {
			return err
		}
		was := *c
		was.FiledOn = 0
		c.Paid, c.PaidOn = paid, paidOn
		return s.keepClaim(tx, who, &was, c)
	})
}

// claimTerms finds the maker's warranty on the roof, who gave it, and the last
// day to tell them.
func claimTerms(q store.Query, c *models.Claim, callback *models.Callback) error {
	if c.Against != "maker" || callback.RoofID == nil {
		return nil
	}
	file, err := store.RoofFile(q, *callback.RoofID)
	if err != nil {
		return err
	}
	for _, w := range file.Warranties {
		terms := file.TermsOf(w)
		if terms.Kind != "material" || !w.EndedOn.IsZero() || (c.WarrantyID != nil && *c.WarrantyID != w.ID) {
			continue
		}
		c.WarrantyID = &w.ID
		if c.Who == "" {
			c.Who = w.OwedBy
		}
		i := slices.IndexFunc(terms.Conditions, func(k models.Condition) bool { return k.Kind == "notice_days" })
		if i >= 0 && c.FileBy.IsZero() {
			c.FileBy = callback.LearnedOn.AddDays(terms.Conditions[i].Days)
		}
		return nil
	}
	return nil
}

// ChangeClaim saves an edited claim. An answer without a day is of today. What is paid on it becomes a recovery
// among the cost lines of its callback; when the payment is changed, the line
// is taken back and written anew.
func (s *Service) ChangeClaim(ctx context.Context, who Actor, c *models.Claim) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		was, err := store.Get[models.Claim](tx.Query, c.ID)
		if err != nil {
			return err
		}
		c.Ref, c.CallbackID, c.CostLineID = was.Ref, was.CallbackID, was.CostLineID
		if c.Answer != "" && c.AnsweredOn.IsZero() {
			set, err := settings(tx.Query)
			if err != nil {
				return err
			}
			c.AnsweredOn = s.Today(set)
		}
		return s.keepClaim(tx, who, was, c)
	})
}

func (s *Service) keepClaim(tx *store.Tx, who Actor, was, c *models.Claim) error {
	set, err := settings(tx.Query)
	if err != nil {
		return err
	}
	today := s.Today(set)
	if err := c.Validate(); err != nil {
		return err
	}
	if !samePayment(was, c) && was.Version == c.Version {
		if err := s.recover(tx, today, was, c); err != nil {
			return err
		}
	}
	if err := tx.Update(c); err != nil {
		return err
	}
	for _, step := range []struct {
		kind    string
		was, is units.Date
		text    string
	}{
		{"claim_filed", was.FiledOn, c.FiledOn, c.Who}, {"claim_samples", was.SamplesSentOn, c.SamplesSentOn, ""}, {"claim_visited", was.VisitedOn, c.VisitedOn, ""},
		{"claim_offered", was.OfferedOn, c.OfferedOn, ""}, {"claim_answered", was.AnsweredOn, c.AnsweredOn, c.Answer},
		{"claim_signed", was.ReleaseSignedOn, c.ReleaseSignedOn, c.ReleaseReadBy}, {"claim_paid", was.PaidOn, c.PaidOn, ""},
	} {
		if step.is == step.was || step.is.IsZero() {
			continue
		}
		err := tx.Create(&models.CallbackStep{CallbackID: c.CallbackID, ClaimID: &c.ID, Kind: step.kind, On: step.is, LearnedOn: max(today, step.is),
			ByName: who.By().Name, Note: step.text})
		if err != nil {
			return err
		}
	}
	return nil
}

func samePayment(a, b *models.Claim) bool {
	return a.PaidOn == b.PaidOn && models.Same(a.Paid, b.Paid)
}

// recover makes the cost line of a payment, and takes the one of an earlier
// payment back.
func (s *Service) recover(tx *store.Tx, today units.Date, was, c *models.Claim) error {
	var corrects *int64
	if was.CostLineID == nil && was.Paid != nil {
		// A claim that was read from a file has its recovery among the costs.
		line, err := store.First[models.CostLine](tx.Query, "callback_id = ? AND kind = 'recovery' AND on_day = ? AND amount = ? AND id NOT IN (SELECT corrects FROM cost_lines WHERE corrects IS NOT NULL)",
			was.CallbackID, was.PaidOn, -*was.Paid)
		if err == nil {
			was.CostLineID = &line.ID
		} else if models.CodeOf(err) != models.NotFound {
			return err
		}
	}
	if was.CostLineID != nil {
		line, err := store.Get[models.CostLine](tx.Query, *was.CostLineID)
		if err != nil {
			return err
		}
		n, err := store.Count[models.CostLine](tx.Query, "corrects = ?", line.ID)
		if err != nil {
			return err
		}
		if n > 0 {
			return models.Errorf(models.Conflict, "The recovery of this payment was corrected among the costs; change it there.")
		}
		back := line.Reversal(today)
		if err := tx.Create(&back); err != nil {
			return err
		}
		corrects, c.CostLineID = was.CostLineID, nil
	}
	if c.Paid == nil {
		return nil
	}
	line := &models.CostLine{CallbackID: c.CallbackID, On: c.PaidOn, LearnedOn: max(today, c.PaidOn), PaidOn: c.PaidOn, Kind: "recovery",
		Amount: -*c.Paid, Bearer: c.Against, Corrects: corrects, Note: c.Ref}
	if err := tx.Create(line); err != nil {
		return err
	}
	c.CostLineID = &line.ID
	return nil
}
