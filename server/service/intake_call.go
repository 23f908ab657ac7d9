package service

import (
	"fmt"
	"time"

	"overhang/models"
	"overhang/models/intake"
	"overhang/models/store"
)

// callRoom has the calls, which have no name but the moment at which somebody
// rang: nth tells apart those of one moment.
func callRoom() *room[intake.Call] {
	inner := func(c *intake.Call) *models.Call { return &c.Call }
	refs := []ref[intake.Call]{
		may("contact_ref", byContact, func(c *intake.Call) *string { return &c.ContactRef }, func(c *intake.Call) **int64 { return &c.ContactID }),
		may("house_ref", byHouse, func(c *intake.Call) *string { return &c.HouseRef }, func(c *intake.Call) **int64 { return &c.HouseID }),
		may("callback_ref", byCallback, func(c *intake.Call) *string { return &c.CallbackRef }, func(c *intake.Call) **int64 { return &c.CallbackID }),
	}
	moment := func(c *models.Call) string { return c.RangAt.UTC().Format(time.RFC3339Nano) }
	// filled takes calls in the order in which they were written down.
	filled := func(w *work, calls []models.Call) ([]*intake.Call, error) {
		ts := wrap(inner, calls)
		for _, r := range refs {
			if err := r.fill(w, ts); err != nil {
				return nil, err
			}
		}
		w.alike = map[string]int{}
		for _, t := range ts {
			w.alike[moment(&t.Call)]++
			t.Nth = w.alike[moment(&t.Call)]
		}
		return ts, nil
	}
	return &room[intake.Call]{sheet: intake.Calls,
		load: func(w *work, lines []*intake.Line[intake.Call]) ([]*intake.Call, error) {
			seen := map[string]bool{"": true}
			var moments []time.Time
			for _, text := range texts(lines, "rang_at") {
				if seen[text] {
					continue
				}
				seen[text] = true
				at, err := time.Parse(time.RFC3339Nano, text)
				if err != nil {
					return nil, fmt.Errorf("reading the moment of a call: %w", err)
				}
				moments = append(moments, at)
			}
			calls, err := store.ListIn[models.Call](w.q, "rang_at", moments)
			if err != nil {
				return nil, err
			}
			return filled(w, calls)
		},
		link: func(w *work, rows []row[intake.Call]) error {
			for _, r := range refs {
				if err := r.link(w, rows); err != nil {
					return err
				}
			}
			nextOfAlike(w, rows, func(c *intake.Call) string { return moment(&c.Call) }, func(c *intake.Call) int { return c.Nth })
			return nil
		},
		save: func(w *work, rows []row[intake.Call]) error { return keep[intake.Call, models.Call](w, rows, inner) },
		pages: func(w *work, fn func([]*intake.Call) error) error {
			calls, err := store.List[models.Call](w.q, "id", "")
			if err != nil {
				return err
			}
			ts, err := filled(w, calls)
			if err != nil {
				return err
			}
			return fn(ts)
		},
	}
}

// nextOfAlike refuses a new row whose nth is not the next of those that are alike.
func nextOfAlike[T any](w *work, rows []row[T], alike func(*T) string, nth func(*T) int) {
	for _, row := range rows {
		if !row.new {
			continue
		}
		n := w.alike[alike(row.t)]
		if nth(row.t) != n+1 {
			row.line.Refuse("nth", fmt.Sprint(nth(row.t)), "is not the next: %d of these are there before it", n)
			continue
		}
		w.alike[alike(row.t)] = n + 1
	}
}

var claimOfStep = may("claim_ref", byClaim, func(s *intake.Step) *string { return &s.ClaimRef }, func(s *intake.Step) **int64 { return &s.ClaimID })

// linkSteps finds the claims of steps, which are of the same callback, and refuses
// changes of steps that are kept.
func linkSteps(w *work, rows []row[intake.Step]) error {
	kept, err := keptBefore[models.CallbackStep](w, rows, func(s *intake.Step) int64 { return s.ID })
	if err != nil {
		return err
	}
	if err := claimOfStep.link(w, rows); err != nil {
		return err
	}
	var ids []int64
	for _, row := range rows {
		if row.t.ClaimID != nil {
			ids = append(ids, *row.t.ClaimID)
		}
	}
	claims, err := store.ListIn[models.Claim](w.q, "id", ids)
	if err != nil {
		return err
	}
	of := map[int64]int64{} // callbacks of the claims
	for _, c := range claims {
		of[c.ID] = c.CallbackID
	}
	for _, row := range rows {
		if was := kept[row.t.ID]; !row.new {
			row.line.Breaks(row.t.StaysAs(was))
		} else if id := row.t.ClaimID; id != nil && *id != 0 && of[*id] != row.t.CallbackID {
			row.line.Refuse("claim_ref", row.t.ClaimRef, "is a claim for another callback")
		}
	}
	return nil
}
