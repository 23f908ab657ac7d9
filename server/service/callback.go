package service

import (
	"context"
	"fmt"
	"strings"
	"time"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// CallbackRow is a callback in a listing, with whether its ring-back is late.
type CallbackRow struct {
	store.CallbackRow
	Late bool // not rung back by when we promised
}

// Callbacks lists callbacks, the most pressing first, and how many there are.
// Names and telephone numbers are left out for those who may not see contacts,
// and costs for those who may not see money.
func (s *Service) Callbacks(ctx context.Context, who Actor, f store.CallbackFilter, page store.Page) ([]CallbackRow, int, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return nil, 0, err
	}
	f.Now, f.Contacts = s.Now(), who.May(SeeContacts)
	rows, total, err := store.Callbacks(s.Store.Query(ctx), f, page)
	if err != nil {
		return nil, 0, err
	}
	out := make([]CallbackRow, len(rows))
	for i, r := range rows {
		if !who.May(SeeContacts) {
			r.Caller, r.Phone = "", ""
		}
		if !who.May(SeeMoney) && !who.May(EditCosts) {
			r.Cost = 0
		}
		out[i] = CallbackRow{r, s.late(&r.Callback)}
	}
	return out, total, nil
}

// CallbackCounts counts the callbacks that need somebody now.
func (s *Service) CallbackCounts(ctx context.Context, who Actor) (store.CallbackCounts, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return store.CallbackCounts{}, err
	}
	return store.CountCallbacks(s.Store.Query(ctx), s.Now())
}

func (s *Service) late(c *models.Callback) bool {
	return c.State != "closed" && c.State != "refused" && c.RungBackAt == nil && c.RingBackBy != nil && c.RingBackBy.Before(s.Now())
}

// NewCall is what a person writes down while somebody is on the telephone. All
// but one of name, telephone, address and house may be unknown.
type NewCall struct {
	Caller        string
	Phone         string
	AddressGiven  string
	HouseID       *int64
	RoofID        *int64
	About         string
	WaterComingIn bool
	CauseReported string
	HappenedOn    units.Date
	JoinTo        *int64 // an open callback about the same leak
}

// TakeCall writes a call down, with the moment by which we promised to ring
// back, and opens a callback for it or joins it to one that is open. The roof
// may be found later.
func (s *Service) TakeCall(ctx context.Context, who Actor, n NewCall) (*models.Callback, error) {
	if err := who.need(TakeCalls); err != nil {
		return nil, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	var callback *models.Callback
	err = s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		now := tx.Now()
		by := now.Add(time.Duration(set.Company.RingBackHours) * time.Hour)
		call := &models.Call{Caller: strings.TrimSpace(n.Caller), Phone: strings.TrimSpace(n.Phone), About: n.About, RangAt: now, RingBackBy: &by, HouseID: n.HouseID}
		if n.JoinTo != nil {
			callback, err = store.Get[models.Callback](tx.Query, *n.JoinTo)
			if err != nil {
				return err
			}
			if callback.State == "closed" {
				return models.Errorf(models.Conflict, "That callback is closed; open a new one and say that it is its return.")
			}
			callback.WaterComingIn = callback.WaterComingIn || n.WaterComingIn
			if callback.RungBackAt != nil { // whoever rings again is rung back again
				callback.RungBackAt, callback.RingBackBy = nil, &by
			}
			if err := tx.Update(callback); err != nil {
				return err
			}
		} else {
			callback = &models.Callback{
				HouseID: n.HouseID, RoofID: n.RoofID, Caller: call.Caller, Phone: call.Phone, AddressGiven: strings.TrimSpace(n.AddressGiven),
				About: n.About, WaterComingIn: n.WaterComingIn, CauseReported: n.CauseReported, HappenedOn: n.HappenedOn,
				LearnedOn: s.Today(set), RingBackBy: &by, State: "new",
			}
			if err := fillRoof(tx.Query, callback); err != nil {
				return err
			}
			if callback.Ref, err = nextRef[models.Callback](tx.Query, "B"); err != nil {
				return err
			}
			if err := tx.Create(callback); err != nil {
				return err
			}
		}
		call.CallbackID = &callback.ID
		if call.Caller == "" && call.Phone == "" {
			call.Caller = "not said"
		}
		return tx.Create(call)
	})
	return callback, err
}

// fillRoof finds the roof that lies on the callback's house, the job that laid
// it and our workmanship promise on it, where each is not known yet.
func fillRoof(q store.Query, c *models.Callback) error {
	if c.HouseID == nil && c.RoofID == nil {
		return nil
	}
	if c.RoofID == nil {
		roofs, err := store.List[models.Roof](q, "ours DESC, laid_on DESC", "house_id = ? AND ended_on IS NULL", *c.HouseID)
		if err != nil {
			return err
		}
		if len(roofs) == 0 || !roofs[0].Ours {
			return nil
		}
		c.RoofID = &roofs[0].ID
	}
	file, err := store.RoofFile(q, *c.RoofID)
	if err != nil {
		return err
	}
	if c.HouseID == nil {
		c.HouseID = &file.House.ID
	}
	if c.JobID == nil {
		if job := file.LaidBy(); job != nil {
			c.JobID = &job.ID
		}
	}
	if c.WarrantyID == nil {
		for _, w := range file.Warranties {
			if file.TermsOf(w).Kind == "workmanship" && w.EndedOn.IsZero() {
				c.WarrantyID = &w.ID
			}
		}
	}
	return nil
}

// Found is a house that a caller may be ringing from, with the open callbacks
// on it that the call may be about.
type Found struct {
	store.Hit
	Open []store.CallbackRow
}

// FindCaller finds the houses that a caller may be ringing from, and the open
// callbacks without a house that are about the same.
func (s *Service) FindCaller(ctx context.Context, who Actor, text string) ([]Found, []store.CallbackRow, error) {
	if err := who.need(TakeCalls); err != nil {
		return nil, nil, err
	}
	hits, err := s.Search(ctx, who, text)
	if err != nil || strings.TrimSpace(text) == "" {
		return nil, nil, err
	}
	q := s.Store.Query(ctx)
	found := make([]Found, len(hits))
	ids := make([]int64, len(hits))
	place := map[int64]*Found{}
	for i, h := range hits {
		found[i], ids[i] = Found{Hit: h}, h.HouseID
		place[h.HouseID] = &found[i]
	}
	onThem, err := store.ListIn[models.Callback](q, "house_id", ids)
	if err != nil {
		return nil, nil, err
	}
	for _, c := range onThem {
		if c.State != "closed" && c.State != "refused" {
			at := place[*c.HouseID]
			at.Open = append(at.Open, store.CallbackRow{Callback: c, Number: at.Number, Street: at.Street, Town: at.Town})
		}
	}
	rows, _, err := store.Callbacks(q, store.CallbackFilter{State: "open", Text: text, Contacts: who.May(SeeContacts)}, store.Page{Size: mostHits})
	if err != nil {
		return nil, nil, err
	}
	var loose []store.CallbackRow
	for _, c := range rows {
		if c.HouseID == nil {
			loose = append(loose, c)
		}
	}
	return found, loose, nil
}

// CallbackFile is one callback with all that belongs to it.
type CallbackFile struct {
	Callback models.Callback
	Address  string
	Roof     *models.RoofFile // nil until the roof is known
	Calls    []models.Call
	Costs    []models.CostLine
	Cost     units.Money
	Visits   []models.Visit
	Trail    []models.AuditEntry
	Late     bool
}

// Callback reads one callback with all that belongs to it.
func (s *Service) Callback(ctx context.Context, who Actor, id int64) (*CallbackFile, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	c, err := store.Get[models.Callback](q, id)
	if err != nil {
		return nil, err
	}
	f := &CallbackFile{Callback: *c, Address: c.AddressGiven, Late: s.late(c)}
	if c.HouseID != nil {
		a, err := store.First[models.Address](q, "house_id = ? AND main = 1", *c.HouseID)
		if err == nil {
			f.Address = a.Line()
		} else if models.CodeOf(err) != models.NotFound {
			return nil, err
		}
	}
	if c.RoofID != nil {
		if f.Roof, err = store.RoofFile(q, *c.RoofID); err != nil {
			return nil, err
		}
	}
	if f.Calls, err = store.List[models.Call](q, "rang_at", "callback_id = ?", id); err != nil {
		return nil, err
	}
	if who.May(SeeVisits) {
		if f.Visits, err = store.List[models.Visit](q, "id", "callback_id = ?", id); err != nil {
			return nil, err
		}
	}
	if who.May(SeeMoney) || who.May(EditCosts) {
		if f.Costs, err = store.List[models.CostLine](q, "on_day, id", "callback_id = ?", id); err != nil {
			return nil, err
		}
		for _, line := range f.Costs {
			f.Cost += line.Cost()
		}
	}
	if f.Trail, err = store.List[models.AuditEntry](q, "id", "record = ? AND record_id = ?", c.Noun(), id); err != nil {
		return nil, err
	}
	if !who.May(SeeContacts) {
		// The trail says who rang, too.
		f.Callback.Caller, f.Callback.Phone, f.Calls, f.Trail = "", "", nil, nil
	}
	return f, nil
}

// RingBack notes an attempt to ring the caller back, and whether somebody
// answered.
func (s *Service) RingBack(ctx context.Context, who Actor, id int64, reached bool) error {
	if err := who.need(TakeCalls); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		c, err := store.Get[models.Callback](tx.Query, id)
		if err != nil {
			return err
		}
		c.Attempts++
		if reached && c.RungBackAt == nil {
			now := tx.Now()
			c.RungBackAt = &now
			if c.State == "new" {
				c.State = "to_look"
			}
		}
		return tx.Update(c)
	})
}

// ChangeCallback saves an edited callback. Its version is the one it was read
// at. A house that has become known brings its roof, job and promise along, and
// one that has become another takes them away. Closing and deciding have their
// day: today, where none is given.
func (s *Service) ChangeCallback(ctx context.Context, who Actor, c *models.Callback) error {
	if err := who.need(EditCallbacks); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		was, err := store.Get[models.Callback](tx.Query, c.ID)
		if err != nil {
			return err
		}
		if was.HouseID != nil && c.HouseID != nil && *was.HouseID != *c.HouseID {
			c.RoofID, c.JobID, c.WarrantyID, c.ReturnOf = nil, nil, nil, nil
		}
		if !who.May(SeeContacts) {
			c.Caller, c.Phone = was.Caller, was.Phone
		}
		if c.State != "closed" {
			c.ClosedOn = 0
		} else if c.ClosedOn.IsZero() {
			c.ClosedOn = s.Today(set)
		}
		decided := c.State == "accepted" || c.State == "refused"
		if decided && c.State != was.State && c.DecidedOn.IsZero() {
			c.DecidedOn = s.Today(set)
		}
		if err := fillRoof(tx.Query, c); err != nil {
			return err
		}
		return tx.Update(c)
	})
}

// AddCost adds a cost line to a callback. Labour with hours and no amount costs
// the hours at the branch's burdened rate.
func (s *Service) AddCost(ctx context.Context, who Actor, line *models.CostLine) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if line.Kind == "labour" && line.Hours != nil && line.Amount == 0 {
		line.Amount = set.Branch.LabourRate.Times(*line.Hours)
	}
	if line.LearnedOn.IsZero() {
		line.LearnedOn = max(s.Today(set), line.On)
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if _, err := store.Get[models.Callback](tx.Query, line.CallbackID); err != nil {
			return err
		}
		return tx.Create(line)
	})
}

// nextRef gives the next free number of a kind of record, such as B-00042.
func nextRef[T any](q store.Query, letter string) (string, error) {
	n, err := store.Highest[T](q)
	if err != nil {
		return "", err
	}
	for {
		n++
		ref := fmt.Sprintf("%s-%05d", letter, n)
		taken, err := store.Count[T](q, "ref = ?", ref)
		if err != nil || taken == 0 {
			return ref, err
		}
	}
}
