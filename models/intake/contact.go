package intake

import (
	"overhang/analytics/units"
	"overhang/models"
)

// Contact is a row of a file of contacts.
type Contact struct{ models.Contact }

// Contacts are whom we speak with about houses.
var Contacts = &Sheet[Contact]{
	name: "contacts",
	about: "Whom we speak with about houses: present and former holders, tenants, managers. A file of houses brings the present holders " +
		"along, so that this one is needed for the others only.",
	columns: []column[Contact]{
		textColumn("ref", "our own number of the contact", 40, func(c *Contact) *string { return &c.Ref }, key, example[Contact]("C-0001", "C-0003")),
		textColumn("name", "", 120, func(c *Contact) *string { return &c.Name }, example[Contact]("Robin Sample", "Lee Sample")),
		wordColumn("kind", "", models.ContactKinds, func(c *Contact) *string { return &c.Kind }, example[Contact]("person", "person")),
		textColumn("phone", "", 40, func(c *Contact) *string { return &c.Phone }, example[Contact]("555-010-0101", "555-010-0103")),
		textColumn("phone2", "", 40, func(c *Contact) *string { return &c.Phone2 }, example[Contact]("", "555-010-0104")),
		textColumn("email", "", 200, func(c *Contact) *string { return &c.Email }, example[Contact]("robin@example.org", "")),
		textColumn("language", "that they speak, such as en or fr", 20, func(c *Contact) *string { return &c.Language }, example[Contact]("en", "en")),
		textColumn("notes", "", 2000, func(c *Contact) *string { return &c.Notes }, example[Contact]("", "Moved away")),
	},
	check: func(c *Contact) []models.FieldError { return rules(&c.Contact) },
}

// Holding is a row of a file of holdings.
type Holding struct {
	models.Holding
	HouseRef   string
	ContactRef string
	Nth        int // of several of one contact in one role
}

// Holdings say who held which house from when to when.
var Holdings = &Sheet[Holding]{
	name: "holdings",
	about: "Who held which house from when to when. A file of houses brings the present ones along; this one tells of earlier ones, " +
		"so that it is known what was sold, and when.",
	columns: []column[Holding]{
		refColumn("house_ref", "the house", func(h *Holding) *string { return &h.HouseRef }, key, example[Holding]("H-0001", "H-0001")),
		refColumn("contact_ref", "the holder", func(h *Holding) *string { return &h.ContactRef }, key, example[Holding]("C-0003", "C-0001")),
		wordColumn("role", "", models.HoldingRoles, func(h *Holding) *string { return &h.Role }, standing[Holding]("owner"), example[Holding]("owner", "owner")),
		nthColumn(func(h *Holding) *int { return &h.Nth }),
		dayColumn("from_on", "", func(h *Holding) *units.Date { return &h.FromOn }, example[Holding]("1998-07-01", "2011-08-01")),
		dayColumn("to_on", "empty for a present holder", func(h *Holding) *units.Date { return &h.ToOn }, example[Holding]("2011-08-01", "")),
		dayColumn("notice_on", "day on which we had written notice of the sale to them", func(h *Holding) *units.Date { return &h.NoticeOn }),
	},
	check: func(h *Holding) []models.FieldError { return rules(&h.Holding) },
}
