package service

import (
	"slices"

	"overhang/models"
)

// Permission is one thing that a person may see or do.
type Permission string

// The permissions.
const (
	SeeRoofs       Permission = "see roofs"    // addresses, coverings, years left
	SeeContacts    Permission = "see contacts" // names and telephone numbers of our customers
	EditRoofs      Permission = "edit roofs"   // houses, roofs, structures, jobs
	SeePromises    Permission = "see promises" // warranties and their conditions
	EditPromises   Permission = "edit promises"
	SeeMoney       Permission = "see money" // what is owed, prices, costs
	EditCosts      Permission = "edit costs"
	CloseMonths    Permission = "close months" // for good
	SeeCallbacks   Permission = "see callbacks"
	TakeCalls      Permission = "take calls" // write down a call
	EditCallbacks  Permission = "edit callbacks"
	SeeCrews       Permission = "see crews" // how each crew's work holds, and changes of practice
	SeeNeighbours  Permission = "see neighbours"
	CallOn         Permission = "call on neighbours"
	EditStopList   Permission = "edit the stop-list"
	SeeVisits      Permission = "see visits"
	BookVisits     Permission = "book visits"
	AddFindings    Permission = "add findings" // say what a visit found
	SeeRecords     Permission = "see records"
	Import         Permission = "import"
	Export         Permission = "export"
	EditCatalogues Permission = "edit catalogues"
	EditPeople     Permission = "edit people"
	EditSettings   Permission = "edit settings"
)

// allowed is the one table of who may do what. Every signed-in person may see
// Today, which shows only what their permissions let them see, and their own
// account.
var allowed = map[models.Role][]Permission{
	models.Owner: {SeeRoofs, SeeContacts, EditRoofs, SeePromises, EditPromises, SeeMoney, EditCosts, CloseMonths, SeeCallbacks, TakeCalls,
		EditCallbacks, SeeCrews, SeeNeighbours, CallOn, EditStopList, SeeVisits, BookVisits, AddFindings, SeeRecords, Import, Export,
		EditCatalogues, EditPeople, EditSettings},
	models.Office: {SeeRoofs, SeeContacts, EditRoofs, SeePromises, EditPromises, SeeCallbacks, TakeCalls, EditCallbacks, EditCosts,
		SeeNeighbours, EditStopList, SeeVisits, BookVisits, AddFindings, SeeRecords, Import, Export, EditCatalogues},
	models.Seller:     {SeeRoofs, SeeNeighbours, CallOn, EditStopList},
	models.Scheduler:  {SeeRoofs, SeeContacts, SeeCallbacks, TakeCalls, SeeVisits, BookVisits, AddFindings},
	models.Roofer:     {SeeRoofs, SeeCallbacks, SeeVisits, AddFindings},
	models.Bookkeeper: {SeeRoofs, SeePromises, SeeMoney, SeeCallbacks, EditCosts, CloseMonths, SeeRecords, Export},
}

// Permissions lists every permission, each of which some role has.
func Permissions() []Permission { return slices.Clone(allowed[models.Owner]) }

func permits(role models.Role, p Permission) bool { return slices.Contains(allowed[role], p) }
