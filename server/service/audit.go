package service

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// historyNeeds is what one must be allowed to see, to see how a kind of record
// came to be what it is. A kind that is not named needs EditPeople.
var historyNeeds = map[string]Permission{
	"house": SeeRoofs, "watch": SeeRoofs, "address": SeeRoofs, "roof": SeeRoofs, "structure": SeeRoofs, "attic": SeeRoofs, "slope": SeeRoofs,
	"vent": SeeRoofs, "gutter run": SeeRoofs, "detail": SeeRoofs, "covering": SeeRoofs, "crew": SeeRoofs, "crew member": SeeRoofs,
	"storm": SeeRoofs, "photo": SeeRoofs, "lot": SeeRoofs, "declined work": SeePromises, "job": SeeMoney, "subcontract": SeeMoney,
	"contact": SeeContacts, "holding": SeeContacts, "warranty": SeePromises, "terms": SeePromises, "plan": SeePromises, "closed month": SeeMoney,
	"callback": SeeCallbacks, "callback step": SeeCallbacks, "claim": SeeMoney, "call": SeeContacts, "cost line": SeeMoney, "visit": SeeVisits, "finding": SeeVisits,
	"house to call on": SeeNeighbours, "knock": SeeNeighbours, "stop-list entry": EditStopList,
	"practice": SeeCrews, "scenario": SeeMoney, "company": EditSettings, "branch": EditSettings,
}

// History lists the changes of one record, newest first. It needs the
// permission to see such records.
func (s *Service) History(ctx context.Context, a Actor, record string, id int64, page store.Page) ([]models.AuditEntry, error) {
	need, named := historyNeeds[record]
	if !named {
		need = EditPeople
	}
	if err := a.need(need); err != nil {
		return nil, err
	}
	return s.Store.Query(ctx).History(record, id, page)
}

// TrailEntry is one change of one record, with what it was and became.
type TrailEntry struct {
	models.AuditEntry
	Fields []TrailField
}

// TrailField is a column before and after a change. The values are of the types
// of the record's own fields; nil is unknown.
type TrailField struct {
	Column   string
	From, To any
}

// Trail lists the changes of every record of a kind, or of all kinds when it is
// empty, newest first, and counts them. It needs EditSettings, because it shows
// everything.
func (s *Service) Trail(ctx context.Context, a Actor, record string, page store.Page) ([]TrailEntry, int, error) {
	if err := a.need(EditSettings); err != nil {
		return nil, 0, err
	}
	if record != "" && columns[record] == nil {
		return nil, 0, nil
	}
	entries, total, err := s.Store.Query(ctx).Trail(record, page)
	if err != nil {
		return nil, 0, err
	}
	out := make([]TrailEntry, len(entries))
	for i, e := range entries {
		out[i].AuditEntry = e
		if out[i].Fields, err = TrailFields(e); err != nil {
			return nil, 0, err
		}
	}
	return out, total, nil
}

// TrailFields reads what an entry of the audit trail changed, in the order of
// the columns.
func TrailFields(e models.AuditEntry) ([]TrailField, error) {
	if e.Changes == "" {
		return nil, nil
	}
	differs := map[string][2]json.RawMessage{}
	if err := json.Unmarshal([]byte(e.Changes), &differs); err != nil {
		return nil, fmt.Errorf("reading entry %d of the audit trail: %w", e.ID, err)
	}
	var fields []TrailField
	for column, v := range differs {
		t := columns[e.Record][column]
		fields = append(fields, TrailField{Column: column, From: trailValue(t, v[0]), To: trailValue(t, v[1])})
	}
	slices.SortFunc(fields, func(a, b TrailField) int { return cmp.Compare(a.Column, b.Column) })
	return fields, nil
}

// trailValue reads a value as one of the type, or as whatever it is when a
// column is no longer kept.
func trailValue(t reflect.Type, raw json.RawMessage) any {
	if len(raw) == 0 || string(raw) == "null" {
		return nil
	}
	if t != nil {
		if v := reflect.New(t); json.Unmarshal(raw, v.Interface()) == nil {
			return v.Elem().Interface()
		}
	}
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		return string(raw)
	}
	return v
}

// RecordKinds lists the kinds of record that the audit trail speaks of, by
// their nouns.
func RecordKinds() []string {
	out := make([]string, len(audited))
	for i, r := range audited {
		out[i] = r.Noun()
	}
	slices.Sort(out)
	return out
}

var audited = []models.Record{&models.Address{}, &models.Attic{}, &models.Branch{}, &models.Call{}, &models.Callback{}, &models.CallbackStep{}, &models.Claim{}, &models.ClosedMonth{}, &models.Company{},
	&models.Certificate{}, &models.Contact{}, &models.CostLine{}, &models.Covering{}, &models.Crew{}, &models.CrewMember{}, &models.Declined{}, &models.Detail{},
	&models.Finding{}, &models.GutterRun{}, &models.Holding{}, &models.House{}, &models.Job{}, &models.Knock{}, &models.Lot{},
	&models.Person{}, &models.Photo{}, &models.Plan{}, &models.Prospect{}, &models.Roof{}, &models.Slope{}, &models.StopEntry{},
	&models.Storm{}, &models.Structure{}, &models.Subcontract{}, &models.Terms{}, &models.Vent{}, &models.Visit{}, &models.Warranty{},
	&models.Practice{}, &models.Scenario{}, &models.Watch{}}

// columns gives the type of each column of each kind of record.
var columns = func() map[string]map[string]reflect.Type {
	out := map[string]map[string]reflect.Type{}
	for _, r := range audited {
		of := map[string]reflect.Type{}
		t := reflect.TypeOf(r).Elem()
		for i := range t.NumField() {
			f := t.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			of[name] = f.Type
			if f.Type == reflect.TypeFor[units.Dated]() {
				of[name+"_on"], of[name+"_precision"] = reflect.TypeFor[units.Date](), reflect.TypeFor[units.Precision]()
			}
		}
		out[r.Noun()] = of
	}
	return out
}()
