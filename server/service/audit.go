package service

import (
	"context"

	"overhang/models"
	"overhang/models/store"
)

// historyNeeds is what one must be allowed to see, to see how a kind of record
// came to be what it is. A kind that is not named needs EditPeople.
var historyNeeds = map[string]Permission{
	"house": SeeRoofs, "address": SeeRoofs, "roof": SeeRoofs, "structure": SeeRoofs, "attic": SeeRoofs, "slope": SeeRoofs,
	"vent": SeeRoofs, "gutter run": SeeRoofs, "detail": SeeRoofs, "covering": SeeRoofs, "crew": SeeRoofs, "crew member": SeeRoofs,
	"storm": SeeRoofs, "photo": SeeRoofs, "lot": SeeRoofs, "declined work": SeePromises, "job": SeeMoney, "subcontract": SeeMoney,
	"contact": SeeContacts, "holding": SeeContacts, "warranty": SeePromises, "terms": SeePromises, "plan": SeePromises,
	"callback": SeeCallbacks, "call": SeeContacts, "cost line": SeeMoney, "visit": SeeVisits, "finding": SeeVisits,
	"house to call on": SeeNeighbours, "knock": SeeNeighbours, "stop-list entry": EditStopList,
	"company": EditSettings, "branch": EditSettings,
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
