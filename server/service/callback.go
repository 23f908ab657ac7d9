package service

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"overhang/analytics/portfolio"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// CallbackRow is a callback in a listing, with what is next.
type CallbackRow struct {
	store.CallbackRow
	Late  bool // not rung back by when we promised
	Ahead models.Ahead
}

// Callbacks lists callbacks, the most pressing first, and how many there are.
// Names and telephone numbers are left out for those who may not see contacts,
// and costs for those who may not see money.
func (s *Service) Callbacks(ctx context.Context, who Actor, f store.CallbackFilter, page store.Page) ([]CallbackRow, int, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return nil, 0, err
	}
	if f.CrewID != 0 {
		if err := who.need(SeeCrews); err != nil {
			return nil, 0, err
		}
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, 0, err
	}
	f.Now, f.Today, f.Contacts = s.Now(), s.Today(set), who.May(SeeContacts)
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
		out[i] = CallbackRow{r, s.late(&r.Callback), r.Ahead(f.Now, f.Today)}
	}
	return out, total, nil
}

// GroupName is the name of the crew or the covering by which callbacks are
// listed; empty for neither.
func (s *Service) GroupName(ctx context.Context, who Actor, f store.CallbackFilter) (string, error) {
	q := s.Store.Query(ctx)
	switch {
	case f.CrewID != 0:
		if err := who.need(SeeCrews); err != nil {
			return "", err
		}
		crew, err := store.Get[models.Crew](q, f.CrewID)
		if err != nil {
			return "", err
		}
		return crew.Name, nil
	case f.CoveringID != 0:
		if err := who.need(SeeRoofs); err != nil {
			return "", err
		}
		covering, err := store.Get[models.Covering](q, f.CoveringID)
		if err != nil {
			return "", err
		}
		return covering.Name, nil
	}
	return "", nil
}

// CallbackCounts counts the callbacks that need somebody now.
func (s *Service) CallbackCounts(ctx context.Context, who Actor) (store.CallbackCounts, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return store.CallbackCounts{}, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return store.CallbackCounts{}, err
	}
	return store.CountCallbacks(s.Store.Query(ctx), s.Now(), s.Today(set))
}

// PromisedTimes are how often we rang back and looked by when we promised.
type PromisedTimes struct {
	From     units.Date // the first day of those that count, by what was promised
	RingBack models.Kept
	Look     models.Kept
}

// PromisedTimes counts how often promised times of the last twelve months were
// kept, and how many are still to come. Each call was promised a ring-back of its
// own; where none is kept of a callback, its own promise counts.
func (s *Service) PromisedTimes(ctx context.Context, who Actor) (PromisedTimes, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return PromisedTimes{}, err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return PromisedTimes{}, err
	}
	today, zone := s.Today(set), set.Branch.Location()
	out := PromisedTimes{From: today.AddYears(-1)}
	from := out.From.In(zone).UTC()
	q := s.Store.Query(ctx)
	calls, err := store.List[models.Call](q, "id", "ring_back_by >= ?", from)
	if err != nil {
		return PromisedTimes{}, err
	}
	callbacks, err := store.List[models.Callback](q, "id",
		"ring_back_by >= ? OR look_by >= ? OR id IN (SELECT callback_id FROM calls WHERE ring_back_by >= ?)", from, out.From, from)
	if err != nil {
		return PromisedTimes{}, err
	}
	byID := map[int64]*models.Callback{}
	for i := range callbacks {
		byID[callbacks[i].ID] = &callbacks[i]
	}
	told := map[int64]bool{} // by their calls
	for _, call := range calls {
		c, done := &models.Callback{}, call.RungBackAt
		if call.CallbackID != nil {
			c, told[*call.CallbackID] = byID[*call.CallbackID], true
			if done == nil {
				done = c.RungBackAt
			}
		}
		out.RingBack.CountRingBack(c, *call.RingBackBy, done, s.Now(), zone)
	}
	for i := range callbacks {
		c := &callbacks[i]
		if c.RingBackBy != nil && !c.RingBackBy.Before(from) && !told[c.ID] {
			out.RingBack.CountRingBack(c, *c.RingBackBy, c.RungBackAt, s.Now(), zone)
		}
		if c.LookBy >= out.From {
			out.Look.CountLook(c, today)
		}
	}
	return out, nil
}

func (s *Service) late(c *models.Callback) bool {
	return c.Open() && c.RungBackAt == nil && c.RingBackBy != nil && c.RingBackBy.Before(s.Now())
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
	ReturnOf      *int64 // an earlier callback that was ended, of which this is the return
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
			if n.WaterComingIn { // the cover does not hold, if there is one
				callback.WaterComingIn, callback.CoveredOn = true, 0
			}
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
				LearnedOn: s.Today(set), RingBackBy: &by, State: "new", LookBy: promised(s.Today(set), set.Company.LookDays),
			}
			if err := returns(tx.Query, callback, n.ReturnOf); err != nil {
				return err
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

// promised is the last day of a promise of so many days; none is promised of
// nought.
func promised(from units.Date, days int) units.Date {
	if days == 0 {
		return 0
	}
	return from.AddDays(days)
}

// returns makes a new callback the return of an earlier one: where it was, it
// is again.
func returns(q store.Query, c *models.Callback, of *int64) error {
	if of == nil {
		return nil
	}
	earlier, err := store.Get[models.Callback](q, *of)
	if err != nil {
		return err
	}
	if earlier.Open() && earlier.State != "repaired" {
		return models.Errorf(models.Conflict, "That callback is still open: add the call to it, it has not come back yet.")
	}
	c.ReturnOf, c.HouseID, c.RoofID, c.JobID, c.WarrantyID = of, earlier.HouseID, earlier.RoofID, earlier.JobID, earlier.WarrantyID
	c.CrewID, c.LotID, c.SubcontractID, c.DetailID, c.Place = earlier.CrewID, earlier.LotID, earlier.SubcontractID, earlier.DetailID, earlier.Place
	if c.Caller == "" && c.Phone == "" {
		c.Caller, c.Phone, c.ContactID = earlier.Caller, earlier.Phone, earlier.ContactID
	}
	if c.AddressGiven == "" {
		c.AddressGiven = earlier.AddressGiven
	}
	return nil
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
	// Who laid it stays with the callback as it is known now.
	if i := slices.IndexFunc(file.Jobs, func(j models.Job) bool { return c.JobID != nil && j.ID == *c.JobID }); i >= 0 && c.CrewID == nil {
		c.CrewID = file.Jobs[i].CrewID
	}
	if c.LotID == nil && c.JobID != nil {
		lots, err := store.List[models.Lot](q, "id", "job_id = ?", *c.JobID)
		if err != nil {
			return err
		}
		if len(lots) == 1 {
			c.LotID = &lots[0].ID
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
	rows, _, err := store.Callbacks(q, store.CallbackFilter{State: "open", Text: text, Contacts: who.May(SeeContacts)}, store.Page{Size: MostHits})
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
	// Promise is the one that answers for it, as it stood when the fault was seen,
	// or else when we were told; nil where there is none or the reader may not see
	// it.
	Promise  *portfolio.Judged
	Calls    []models.Call
	Costs    []models.CostLine
	Cost     units.Money
	Visits   []models.Visit
	Findings map[int64][]models.Finding // of the visits, by their number
	Kept     map[int64]bool             // visits of which the person is not told what they found, since they are still to look
	Slopes   map[int64]string           // names of the roof's slopes
	Trail    []models.AuditEntry
	Late     bool
	Ahead    models.Ahead

	Steps        []models.CallbackStep
	Borne        []models.Borne
	Claims       []models.Claim
	Returns      []models.Callback // that came of this one
	Job          *models.Job       // whose work it is about
	Crew         *models.Crew
	People       []string // of the crew, on the day that the job began
	Lots         []models.Lot
	Subcontracts []models.Subcontract
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
	set, err := s.Settings(ctx)
	if err != nil {
		return nil, err
	}
	f := &CallbackFile{Callback: *c, Address: c.AddressGiven, Late: s.late(c), Ahead: c.Ahead(s.Now(), s.Today(set))}
	if err := s.readWork(q, f); err != nil {
		return nil, err
	}
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
		if c.WarrantyID != nil && who.May(SeePromises) {
			checks, err := portfolio.CheckVenting(f.Roof, &set.Branch)
			if err != nil {
				s.Log.Warn("a roof could not be judged", "roof", f.Roof.Roof.Ref, "error", err)
			}
			f.Promise = s.judgedOn(f.Roof, portfolio.Verdict(checks), *c.WarrantyID, cmp.Or(c.HappenedOn, c.LearnedOn))
		}
	}
	if f.Calls, err = store.List[models.Call](q, "rang_at", "callback_id = ?", id); err != nil {
		return nil, err
	}
	if who.May(SeeVisits) {
		if err := readVisits(q, f, who, s.Today(set)); err != nil {
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
		f.Borne = models.BorneBy(f.Costs, c.Bearer)
	}
	if who.May(EditCosts) {
		if f.Claims, err = store.List[models.Claim](q, "id", "callback_id = ?", id); err != nil {
			return nil, err
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

// readVisits reads the visits that were made for a callback, and what they found but
// for what is kept from the person.
func readVisits(q store.Query, f *CallbackFile, who Actor, today units.Date) (err error) {
	if f.Visits, err = store.List[models.Visit](q, "id", "callback_id = ?", f.Callback.ID); err != nil {
		return err
	}
	ofHouse, err := store.List[models.Visit](q, "booked_for, id", "house_id = ?", f.Callback.HouseID)
	if err != nil {
		return err
	}
	f.Kept = map[int64]bool{}
	roofs, err := store.List[models.Roof](q, "id", "house_id = ?", f.Callback.HouseID)
	if err != nil {
		return err
	}
	var house int64 // nought where it is not known: nothing is kept of that
	if f.Callback.HouseID != nil {
		house = *f.Callback.HouseID
	}
	showings, err := store.ShowingsOf(q, who.PersonID, house)
	if err != nil {
		return err
	}
	var ids []int64
	for i := range f.Visits {
		v := &f.Visits[i]
		of := cmp.Or(v.RoofID, f.Callback.RoofID)
		var roof *models.Roof
		if i := slices.IndexFunc(roofs, func(r models.Roof) bool { return models.Same(&r.ID, of) }); i >= 0 {
			roof = &roofs[i]
		}
		if keeping(who, ofHouse, roof, showings, today).found(who, v, today) {
			f.Kept[v.ID] = true
			continue
		}
		ids = append(ids, v.ID)
	}
	found, err := store.ListIn[models.Finding](q, "visit_id", ids)
	f.Findings = map[int64][]models.Finding{}
	for _, x := range found {
		f.Findings[x.VisitID] = append(f.Findings[x.VisitID], x)
	}
	f.Slopes = map[int64]string{}
	if f.Roof != nil {
		for _, slope := range f.Roof.Slopes {
			f.Slopes[slope.ID] = slope.Name
		}
	}
	return err
}

// readWork reads the course of a callback, what came of it, and who and what the
// job was done with.
func (s *Service) readWork(q store.Query, f *CallbackFile) (err error) {
	c := &f.Callback
	if f.Steps, err = store.List[models.CallbackStep](q, "on_day, id", "callback_id = ?", c.ID); err != nil {
		return err
	}
	if f.Returns, err = store.List[models.Callback](q, "learned_on, id", "return_of = ?", c.ID); err != nil {
		return err
	}
	var started units.Date
	if c.JobID != nil {
		job, err := store.Get[models.Job](q, *c.JobID)
		if err != nil {
			return err
		}
		f.Job = job
		if started = job.StartedOn; started.IsZero() {
			started = job.ClosedOn
		}
		if f.Lots, err = store.List[models.Lot](q, "number", "job_id = ?", *c.JobID); err != nil {
			return err
		}
		if f.Subcontracts, err = store.List[models.Subcontract](q, "part, id", "job_id = ?", *c.JobID); err != nil {
			return err
		}
	}
	if c.CrewID == nil {
		return nil
	}
	if f.Crew, err = store.Get[models.Crew](q, *c.CrewID); err != nil || started.IsZero() {
		return err
	}
	members, err := store.List[models.CrewMember](q, "name", "crew_id = ?", *c.CrewID)
	for _, m := range members {
		if (m.FromOn.IsZero() || m.FromOn <= started) && (m.ToOn.IsZero() || m.ToOn >= started) {
			f.People = append(f.People, m.Name)
		}
	}
	return err
}

// CrewNames lists the crews, by name.
func (s *Service) CrewNames(ctx context.Context, who Actor) ([]models.Crew, error) {
	if err := who.need(SeeCallbacks); err != nil {
		return nil, err
	}
	return store.List[models.Crew](s.Store.Query(ctx), "name", "")
}

// note adds a step to a callback's course. We learn of it today, unless it is
// said to be later.
func note(tx *store.Tx, who Actor, today units.Date, c *models.Callback, kind string, on units.Date, text string) error {
	if on.IsZero() {
		on = today
	}
	return tx.Create(&models.CallbackStep{CallbackID: c.ID, Kind: kind, On: on, LearnedOn: max(today, on), ByName: who.By().Name, Note: text})
}

// RingBack notes an attempt to ring the caller back, and whether somebody
// answered. It is for every call of the callback that nobody has been rung back for.
func (s *Service) RingBack(ctx context.Context, who Actor, id int64, reached bool) error {
	if err := who.need(TakeCalls); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		c, err := store.Get[models.Callback](tx.Query, id)
		if err != nil {
			return err
		}
		c.Attempts++
		kind := "tried"
		if reached {
			kind = "reached"
		}
		if err := note(tx, who, s.Today(set), c, kind, 0, ""); err != nil {
			return err
		}
		if reached && c.RungBackAt == nil {
			now := tx.Now()
			c.RungBackAt = &now
			if c.State == "new" {
				c.State = "to_look"
			}
		}
		calls, err := store.List[models.Call](tx.Query, "id", "callback_id = ? AND rung_back_at IS NULL", id)
		if err != nil {
			return err
		}
		for i := range calls {
			if calls[i].Attempts++; reached {
				calls[i].RungBackAt = new(tx.Now())
			}
			if err := tx.Update(&calls[i]); err != nil {
				return err
			}
		}
		return tx.Update(c)
	})
}

// ChangeCallback saves an edited callback. Its version is the one it was read
// at. A house that has become known brings its roof, job, crew and promise
// along, and one that has become another takes them away. A state must be able
// to follow the one before. Each step has its day: today, where none is given.
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
			c.CrewID, c.LotID, c.SubcontractID, c.DetailID = nil, nil, nil, nil
			c.Relaid, c.RelaidSlopeID, c.RelaidArea = "", nil, nil
		}
		if c.JobID != nil && !models.Same(was.JobID, c.JobID) {
			// Crew, lot and subcontractor are those of the job.
			if n, err := store.Count[models.JobRoof](tx.Query, "job_id = ? AND roof_id = ?", *c.JobID, c.RoofID); err != nil {
				return err
			} else if n == 0 {
				return models.FieldErrorf("job_id", "", "is not a job on this roof")
			}
			for _, of := range []struct{ was, is **int64 }{{&was.CrewID, &c.CrewID}, {&was.LotID, &c.LotID}, {&was.SubcontractID, &c.SubcontractID}} {
				if models.Same(*of.was, *of.is) {
					*of.is = nil
				}
			}
		}
		if !who.May(SeeContacts) {
			c.Caller, c.Phone = was.Caller, was.Phone
		}
		return s.step(tx, who, set, was, c)
	})
}

// step gives the days to a changed callback that follow from its state, and
// saves it with the steps that it has gone.
func (s *Service) step(tx *store.Tx, who Actor, set Settings, was, c *models.Callback) error {
	today := s.Today(set)
	if c.State == "new" && was.LookedOn.IsZero() && !c.LookedOn.IsZero() {
		c.State = "to_look" // somebody has been there
	}
	if err := c.MayFollow(was.State); err != nil && was.Version == c.Version {
		return err
	}
	stepped := c.State != was.State
	day := func(on *units.Date) {
		if stepped && on.IsZero() {
			*on = today
		}
	}
	switch c.State {
	case "accepted", "refused":
		day(&c.DecidedOn)
	case "repaired":
		day(&c.RepairedOn)
	}
	if c.State != "closed" {
		c.ClosedOn = 0
	} else {
		day(&c.ClosedOn)
	}
	if stepped && c.State == "accepted" && was.State == "repaired" {
		c.RepairedOn = 0 // it did not hold
		c.Relaid, c.RelaidSlopeID, c.RelaidArea = "", nil, nil
	}
	switch {
	case c.State != "accepted":
		if stepped && c.State != "repaired" && c.State != "closed" {
			c.RepairBy = 0
		}
	case stepped || c.DecidedOn != was.DecidedOn:
		c.RepairBy = promised(c.DecidedOn, set.Company.RepairDays)
	}
	switch {
	case c.WaitingOn == "" || (c.State != "new" && c.State != "to_look" && c.State != "accepted"):
		c.WaitingOn, c.WaitingSince = "", 0
	case c.WaitingOn != was.WaitingOn && c.WaitingSince == was.WaitingSince:
		c.WaitingSince = today
	}
	if err := fillRoof(tx.Query, c); err != nil {
		return err
	}
	if err := relaidHere(tx.Query, was, c); err != nil {
		return err
	}
	if err := tx.Update(c); err != nil {
		return err
	}
	return s.noteSteps(tx, who, today, was, c)
}

// relaidHere checks that the slope that a repair laid anew is one of the callback's
// roof.
func relaidHere(q store.Query, was, c *models.Callback) error {
	if c.RelaidSlopeID == nil || models.Same(was.RelaidSlopeID, c.RelaidSlopeID) && models.Same(was.RoofID, c.RoofID) {
		return nil
	}
	if c.RoofID == nil {
		return models.FieldErrorf("relaid_slope_id", "", "find the roof first")
	}
	file, err := store.RoofFile(q, *c.RoofID)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(file.Slopes, func(s models.Slope) bool { return s.ID == *c.RelaidSlopeID }) {
		return models.FieldErrorf("relaid_slope_id", "", "is not a slope of this roof")
	}
	return nil
}

// lookFor takes over into callbacks what a visit, as it is kept now, told of when
// they were looked at: the one that it is for, and the one that it was for
// before, of which then another visit may have been the first look. Was is nil for a
// new visit.
func (s *Service) lookFor(tx *store.Tx, who Actor, set Settings, was, v *models.Visit) error {
	about := []*int64{v.CallbackID}
	if was != nil && !models.Same(was.CallbackID, v.CallbackID) {
		about = append(about, was.CallbackID)
	}
	for _, id := range about {
		if id == nil {
			continue
		}
		before, err := store.Get[models.Callback](tx.Query, *id)
		if err != nil {
			return err
		}
		c := *before
		if !c.LookedAt(was, v) {
			continue
		}
		if c.LookedOn.IsZero() { // the first of the other looks counts then
			others, err := store.List[models.Visit](tx.Query, "done_on, id", "callback_id = ? AND done_on IS NOT NULL", c.ID)
			if err != nil {
				return err
			}
			for i := range others {
				if c.LookedAt(nil, &others[i]) {
					break
				}
			}
		}
		if err := s.step(tx, who, set, before, &c); err != nil {
			return err
		}
	}
	return nil
}

// noteSteps writes down which steps a change has gone.
func (s *Service) noteSteps(tx *store.Tx, who Actor, today units.Date, was, c *models.Callback) error {
	for _, step := range []struct {
		kind    string
		was, is units.Date
		text    string
	}{
		{"covered", was.CoveredOn, c.CoveredOn, ""}, {"looked", was.LookedOn, c.LookedOn, c.CauseFound},
		{"repaired", was.RepairedOn, c.RepairedOn, ""}, {"paid", was.PaidOn, c.PaidOn, ""},
	} {
		if step.is != step.was && !step.is.IsZero() {
			if err := note(tx, who, today, c, step.kind, step.is, step.text); err != nil {
				return err
			}
		}
	}
	if was.State != c.State {
		var err error
		switch c.State {
		case "accepted":
			err = note(tx, who, today, c, c.State, c.DecidedOn, c.AcceptedFor)
		case "refused":
			err = note(tx, who, today, c, c.State, c.DecidedOn, c.RefusedBecause)
		case "closed":
			err = note(tx, who, today, c, c.State, c.ClosedOn, "")
		}
		if err == nil && (was.State == "closed" || was.State == "refused" && c.State != "closed") {
			err = note(tx, who, today, c, "reopened", 0, "")
		}
		if err != nil {
			return err
		}
	}
	switch {
	case c.WaitingOn != was.WaitingOn && c.WaitingOn != "":
		return note(tx, who, today, c, "waits", c.WaitingSince, c.WaitingOn)
	case c.WaitingOn != was.WaitingOn:
		return note(tx, who, today, c, "goes_on", 0, was.WaitingOn)
	}
	return nil
}

// OnRoof is what the person at the house writes down: what was done, what was
// found, and the hours.
type OnRoof struct {
	On         units.Date
	Looked     bool
	Covered    bool
	Repaired   bool
	CauseFound string
	Place      string
	Hours      *float64
	Note       string

	// What the repair laid anew, as in models.Callback.
	Relaid        string
	RelaidSlopeID *int64
	RelaidArea    *units.Area
}

// NoteOnRoof keeps what the person at the house did and found. Whoever may say
// what a visit found may do it; whether it is accepted is decided by others. The
// first look is when it was looked at, and a later one is a step of its own. A
// repair counts once it is accepted. The hours are costed at the branch's
// burdened rate.
func (s *Service) NoteOnRoof(ctx context.Context, who Actor, id int64, n OnRoof) error {
	if err := who.need(AddFindings); err != nil {
		return err
	}
	if err := who.need(SeeCallbacks); err != nil {
		return err
	}
	if !n.Looked && !n.Covered && !n.Repaired && n.Hours == nil && n.CauseFound == "" && n.Note == "" {
		return models.FieldErrorf("done", "", "say what was done, found or how long it took")
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	today := s.Today(set)
	if n.On.IsZero() {
		n.On = today
	}
	if n.On > today {
		return models.FieldErrorf("on", n.On.String(), "is not over yet")
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		was, err := store.Get[models.Callback](tx.Query, id)
		if err != nil {
			return err
		}
		if !was.Open() {
			return models.Errorf(models.Conflict, "This callback is ended; ask the office to open it again, or to take it in as a return.")
		}
		c := *was
		if c.LookedOn.IsZero() && (n.Looked || n.CauseFound != "") {
			c.LookedOn = n.On
		}
		if n.Covered {
			c.CoveredOn = n.On
		}
		if n.CauseFound != "" {
			c.CauseFound = n.CauseFound
		}
		if n.Place != "" {
			c.Place = n.Place
		}
		if n.Note != "" {
			c.Notes = strings.TrimSpace(c.Notes + "\n" + n.Note)
		}
		if n.Repaired {
			if c.State != "accepted" && c.State != "repaired" {
				return models.FieldErrorf("done", "repaired", "is for a callback that is accepted; ask the office to accept it first")
			}
			c.State, c.RepairedOn = "repaired", n.On
			c.Relaid, c.RelaidSlopeID, c.RelaidArea = n.Relaid, n.RelaidSlopeID, n.RelaidArea
		} else if n.relaidOther(&c) {
			return models.FieldErrorf("relaid", n.Relaid, "goes with a repair: say that it was repaired, too")
		}
		if err := s.step(tx, who, set, was, &c); err != nil {
			return err
		}
		if n.Looked && c.LookedOn == was.LookedOn && c.LookedOn != n.On {
			if err := note(tx, who, today, &c, "looked", n.On, n.CauseFound); err != nil {
				return err
			}
		}
		if n.Hours == nil {
			return nil
		}
		line := NewCost{Line: models.CostLine{CallbackID: id, On: n.On, Kind: "labour", Hours: n.Hours, Note: who.By().Name}}
		if err := s.price(set, &line); err != nil {
			return err
		}
		return tx.Create(&line.Line)
	})
}

// relaidOther says whether something is said of what was laid anew that is not
// what is kept of it. An area stands rounded in a form.
func (n *OnRoof) relaidOther(c *models.Callback) bool {
	if n.Relaid == "" && n.RelaidSlopeID == nil && n.RelaidArea == nil {
		return false
	}
	const rounded = units.SquareMetre / 10_000
	area := (n.RelaidArea == nil) == (c.RelaidArea == nil) && (n.RelaidArea == nil || max(*n.RelaidArea-*c.RelaidArea, *c.RelaidArea-*n.RelaidArea) <= rounded)
	return n.Relaid != c.Relaid || !models.Same(n.RelaidSlopeID, c.RelaidSlopeID) || !area
}

// NewCost is a cost line as somebody types it. An amount or a tax that is nil
// was left empty and is worked out by models.Branch.Price; what Line says of
// both is not read.
type NewCost struct {
	Line   models.CostLine
	Amount *units.Money
	Tax    *units.Money
}

// AddCost adds a cost line to a callback, with what was left empty worked out.
func (s *Service) AddCost(ctx context.Context, who Actor, n *NewCost) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if err := s.price(set, n); err != nil {
		return err
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if _, err := store.Get[models.Callback](tx.Query, n.Line.CallbackID); err != nil {
			return err
		}
		return tx.Create(&n.Line)
	})
}

// price works out what was left empty of a cost line: its amount, its tax, and
// the day on which we learned of it.
func (s *Service) price(set Settings, n *NewCost) error {
	if n.Line.LearnedOn.IsZero() {
		n.Line.LearnedOn = max(s.Today(set), n.Line.On)
	}
	return set.Branch.Price(&n.Line, n.Amount, n.Tax)
}

// CostLine reads one cost line of a callback, and whether it was corrected.
func (s *Service) CostLine(ctx context.Context, who Actor, callback, id int64) (line *models.CostLine, corrected bool, err error) {
	if err := who.need(EditCosts); err != nil {
		return nil, false, err
	}
	q := s.Store.Query(ctx)
	line, err = store.First[models.CostLine](q, "id = ? AND callback_id = ?", id, callback)
	if err != nil {
		return nil, false, err
	}
	n, err := store.Count[models.CostLine](q, "corrects = ?", id)
	return line, n > 0 || line.Reverses(), err
}

// CorrectCost takes a wrong cost line back by one of the opposite sign, and
// writes the right one, or none where it is nil. The wrong line stays as it
// was. A line is corrected once; after that its correction is.
func (s *Service) CorrectCost(ctx context.Context, who Actor, callback, id int64, right *NewCost, why string) error {
	wrong, corrected, err := s.CostLine(ctx, who, callback, id)
	if err != nil {
		return err
	}
	if corrected {
		return models.Errorf(models.Conflict, "This line is corrected already; correct the line that stands in its place.")
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	today := s.Today(set)
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		if n, err := store.Count[models.CostLine](tx.Query, "corrects = ?", id); err != nil || n > 0 {
			return cmp.Or(err, error(models.Errorf(models.Conflict, "Somebody else has just corrected this line.")))
		}
		back := wrong.Reversal(today)
		back.Note = why
		if err := tx.Create(&back); err != nil || right == nil {
			return err
		}
		anew := &right.Line
		anew.Row, anew.CallbackID, anew.LearnedOn = models.Row{}, callback, 0
		if err := s.price(set, right); err != nil {
			return err
		}
		// A line in the place of another has the sign of its kind, like any.
		if err := anew.Validate(); err != nil {
			return err
		}
		anew.Corrects = &wrong.ID
		return tx.Create(anew)
	})
}

// SettleCosts notes that all that a callback has cost so far was paid by a day.
func (s *Service) SettleCosts(ctx context.Context, who Actor, id int64, on units.Date) error {
	if err := who.need(EditCosts); err != nil {
		return err
	}
	set, err := s.Settings(ctx)
	if err != nil {
		return err
	}
	if on.IsZero() {
		on = s.Today(set)
	}
	if on > s.Today(set) {
		return models.FieldErrorf("paid_on", on.String(), "is not over yet")
	}
	return s.Store.Write(ctx, who.By(), func(tx *store.Tx) error {
		was, err := store.Get[models.Callback](tx.Query, id)
		if err != nil {
			return err
		}
		lines, err := store.List[models.CostLine](tx.Query, "id", "callback_id = ? AND paid_on IS NULL", id)
		if err != nil {
			return err
		}
		for i := range lines {
			lines[i].PaidOn = max(on, lines[i].On)
			if err := tx.Update(&lines[i]); err != nil {
				return err
			}
		}
		c := *was
		c.PaidOn = on
		if err := tx.Update(&c); err != nil {
			return err
		}
		return s.noteSteps(tx, who, s.Today(set), was, &c)
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
