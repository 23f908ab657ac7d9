package models

import (
	"overhang/analytics/units"
)

// ContactKinds are who a contact can be.
var ContactKinds = []string{"person", "condominium", "manager", "tenant", "buyer"}

// Contact is somebody we speak with about a house.
type Contact struct {
	Row
	Ref      string `json:"ref"`
	Name     string `json:"name"`
	Kind     string `json:"kind"` // one of ContactKinds
	Phone    string `json:"phone"`
	Phone2   string `json:"phone2"`
	Email    string `json:"email"`
	Language string `json:"language"`
	Notes    string `json:"notes"`
	Folded   string `json:"folded"` // Fold of the name and the digits of the phones, for search
}

// Noun is "contact".
func (*Contact) Noun() string { return "contact" }

// Validate checks the rules of a contact and sets its folded form.
func (c *Contact) Validate() error {
	var k checks
	k.required("ref", c.Ref)
	k.required("name", c.Name)
	k.text("name", c.Name, 120)
	k.among("kind", c.Kind, ContactKinds)
	k.phone("phone", c.Phone)
	k.phone("phone2", c.Phone2)
	k.email("email", c.Email)
	k.text("notes", c.Notes, 2000)
	c.Folded = Fold(c.Name) + " " + FoldPhone(c.Phone) + " " + FoldPhone(c.Phone2)
	return k.err()
}

func (c *checks) phone(field, value string) {
	if value == "" {
		return
	}
	n := len(FoldPhone(value))
	c.that(n >= 7 && n <= 15 && len(value) <= 40, field, value, "must have 7 to 15 digits")
}

// HoldingRoles are how a contact holds a house.
var HoldingRoles = []string{"owner", "tenant", "manager"}

// Holding says who holds a house from when to when. A sale ends one and starts
// the next.
type Holding struct {
	Row
	HouseID   int64      `json:"house_id"`
	ContactID int64      `json:"contact_id"`
	Role      string     `json:"role"`
	FromOn    units.Date `json:"from_on"`
	ToOn      units.Date `json:"to_on"`
	// NoticeOn is when we were told in writing that the house was sold to this
	// holder; some promises pass on only with such notice.
	NoticeOn units.Date `json:"notice_on"`
}

// Noun is "holding".
func (*Holding) Noun() string { return "holding" }

// Validate checks the rules of a holding.
func (h *Holding) Validate() error {
	var k checks
	k.required("role", h.Role)
	k.among("role", h.Role, HoldingRoles)
	k.day("from_on", h.FromOn)
	k.day("to_on", h.ToOn)
	k.day("notice_on", h.NoticeOn)
	k.order("from_on", h.FromOn, "to_on", h.ToOn)
	return k.err()
}
