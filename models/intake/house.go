package intake

import (
	"errors"
	"slices"
	"strings"
	"unicode"

	"overhang/analytics/units"
	"overhang/models"
)

// House is a row of a file of houses: the house, its main address, whoever
// holds it now, and for a neighbour's house the roof that we believe lies on it.
type House struct {
	models.House
	Address models.Address
	Others  []string // further addresses, each on one line
	Old     []string // old spellings
	Holder  Holder
	// Covering is the key of the believed roof's covering, and Roof that roof; it
	// has the ref that BelievedRef gives.
	Covering string
	Roof     models.Roof
}

// Holder is who holds a house now, and how to reach them.
type Holder struct {
	Ref      string
	Name     string
	Kind     string
	Phone    string
	Phone2   string
	Email    string
	Language string
	Role     string
	Since    units.Date
	NoticeOn units.Date
}

// BelievedRef is the ref of the roof that a file of houses says lies on a
// house, and HolderRef that of a holder who was given none.
func BelievedRef(houseRef string) string { return houseRef + "-R" }

// HolderRef is the ref of a house's holder for whom the file names none.
func HolderRef(houseRef string) string { return houseRef + "-C" }

// Contact puts what the row says of the holder into their contact, where it
// differs.
func (h *Holder) Contact(c *models.Contact) {
	c.Ref = h.Ref
	for _, f := range []struct {
		to   *string
		from string
	}{{&c.Name, h.Name}, {&c.Kind, h.Kind}, {&c.Phone, h.Phone}, {&c.Phone2, h.Phone2}, {&c.Email, h.Email}, {&c.Language, h.Language}} {
		if tidy(*f.to) != tidy(f.from) {
			*f.to = f.from
		}
	}
}

// HolderOf gives a contact as the holder of a house.
func HolderOf(c *models.Contact, held *models.Holding) Holder {
	h := Holder{Ref: c.Ref, Name: c.Name, Kind: c.Kind, Phone: c.Phone, Phone2: c.Phone2, Email: c.Email, Language: c.Language}
	if held != nil {
		h.Role, h.Since, h.NoticeOn = held.Role, held.FromOn, held.NoticeOn
	}
	return h
}

// ContactColumns are the columns of a file of houses that speak of the contact
// alone, so that two rows with one contact must agree in them.
var ContactColumns = []string{"contact_name", "contact_kind", "phone", "phone2", "email", "language"}

// ParseAddress reads an address on one line, as models.Address.Line writes it:
// "4-120 Elm Street, Town" is unit 4 of number 120.
func ParseAddress(line string) (models.Address, error) {
	var a models.Address
	rest, town, _ := strings.Cut(line, ",")
	a.Town = strings.TrimSpace(town)
	number, street, found := strings.Cut(strings.TrimSpace(rest), " ")
	if !found || !strings.ContainsFunc(number, unicode.IsDigit) {
		return a, errors.New("write number and street, such as 120 Elm Street, Town")
	}
	if unit, n, found := strings.Cut(number, "-"); found {
		a.Unit, number = unit, n
	}
	a.Number, a.Street = number, strings.TrimSpace(street)
	if broken := rules(&a); len(broken) > 0 {
		return a, errors.New(broken[0].Field + " " + broken[0].Rule)
	}
	return a, nil
}

func checkAddress(line string) error {
	_, err := ParseAddress(line)
	return err
}

// Houses are houses with their main address and whoever holds them.
var Houses = &Sheet[House]{
	name: "houses",
	about: "Houses, ours to look after and neighbours', each with its main address, whoever holds it now, and for a neighbour " +
		"the covering that we believe lies on it. Another contact_ref than the kept one is a sale, on the day holder_since.",
	columns: slices.Concat([]column[House]{
		textColumn("ref", "our own number of the house", 40, func(h *House) *string { return &h.Ref }, key, example[House]("H-0001", "H-0002")),
		textColumn("unit", "of the main address", 20, func(h *House) *string { return &h.Address.Unit }, example[House]("", "B")),
		textColumn("number", "house number", 20, func(h *House) *string { return &h.Address.Number }, example[House]("120", "124")),
		textColumn("street", "", 120, func(h *House) *string { return &h.Address.Street }, example[House]("Larkspur Lane", "Larkspur Lane")),
		textColumn("town", "", 80, func(h *House) *string { return &h.Address.Town }, example[House]("Snowfield", "Snowfield")),
		textColumn("region", "state or province", 40, func(h *House) *string { return &h.Address.Region }, example[House]("CO", "CO")),
		textColumn("postal_code", "", 16, func(h *House) *string { return &h.Address.PostalCode }, example[House]("00001", "00001")),
		growingColumn("other_address", "further addresses of the house, with | between them", 200, checkAddress,
			func(h *House) *[]string { return &h.Others }, example[House]("", "126 Larkspur Lane, Snowfield")),
		growingColumn("old_address", "old spellings, kept for search, with | between them", 200, checkAddress,
			func(h *House) *[]string { return &h.Old }, example[House]("7 Mill Road, Snowfield", "")),
		textColumn("parcel", "number in the parcel roll", 60, func(h *House) *string { return &h.Parcel }, example[House]("17-004-120", "")),
		numberColumn("lat", "degrees north", func(h *House) **float64 { return &h.Lat }, example[House]("40.0012", "40.0015")),
		numberColumn("lon", "degrees east; west is negative", func(h *House) **float64 { return &h.Lon }, example[House]("-105.2003", "-105.2001")),
		textColumn("neighbourhood", "", 80, func(h *House) *string { return &h.Neighbourhood }, example[House]("Larkspur", "Larkspur")),
		textColumn("builder", "", 80, func(h *House) *string { return &h.Builder }, example[House]("Invented Homes", "Invented Homes")),
		textColumn("plan", "the builder's plan, where houses were built alike", 80, func(h *House) *string { return &h.Plan }, example[House]("Aspen", "Birch")),
		wholeColumn("build_year", "", func(h *House) **int { return &h.BuildYear }, example[House]("1998", "1999")),
		wordColumn("cladding", "what the walls are clad with", models.Claddings, func(h *House) *string { return &h.Cladding }, example[House]("stucco", "siding")),
		wholeColumn("storeys", "", func(h *House) **int { return &h.Storeys }, example[House]("2", "1")),
		yesNoColumn("trees", "trees over the roof or its gutters", func(h *House) **bool { return &h.Trees }, example[House]("yes", "no")),
		textColumn("site_notes", "what a truck or a ladder must mind", 2000, func(h *House) *string { return &h.SiteNotes },
			example[House]("Decorative concrete: no truck on the drive", "")),
		dayColumn("ended_on", "day from which the house stands no more", func(h *House) *units.Date { return &h.EndedOn }),
		textColumn("contact_ref", "our own number of whoever holds the house", 40, func(h *House) *string { return &h.Holder.Ref },
			example[House]("C-0001", ""), func(c *column[House]) { c.clear = nil }),
		textColumn("contact_name", "", 120, func(h *House) *string { return &h.Holder.Name }, example[House]("Robin Sample", "")),
		wordColumn("contact_kind", "", models.ContactKinds, func(h *House) *string { return &h.Holder.Kind }, example[House]("person", "")),
		textColumn("phone", "", 40, func(h *House) *string { return &h.Holder.Phone }, example[House]("555-010-0101", "")),
		textColumn("phone2", "", 40, func(h *House) *string { return &h.Holder.Phone2 }),
		textColumn("email", "", 200, func(h *House) *string { return &h.Holder.Email }, example[House]("robin@example.org", "")),
		textColumn("language", "that they speak, such as en or fr", 20, func(h *House) *string { return &h.Holder.Language }, example[House]("en", "")),
		wordColumn("holder_role", "", models.HoldingRoles, func(h *House) *string { return &h.Holder.Role }, example[House]("owner", ""),
			func(c *column[House]) { c.clear = nil }),
		dayColumn("holder_since", "day from which they hold the house; needed for a sale", func(h *House) *units.Date { return &h.Holder.Since },
			example[House]("2011-08-01", "")),
		dayColumn("notice_on", "day on which we had written notice that the house was sold to them", func(h *House) *units.Date { return &h.Holder.NoticeOn }),
		textColumn("covering", "key of the covering believed to lie on a neighbour's house", 40, func(h *House) *string { return &h.Covering },
			example[House]("", "three-tab-20"), field[House]("covering_id")),
		datedColumn("roof_year", "when that was laid: 2004, or about 2004", func(h *House) *units.Dated { return &h.Roof.Laid },
			example[House]("", "about 2004"), field[House]("laid_on"), func(c *column[House]) { c.number, c.clear = false, nil }),
	}),
	check: func(h *House) []models.FieldError {
		out := rules(&h.House, &h.Address)
		if h.Holder != (Holder{}) {
			c := &models.Contact{}
			h.Holder.Contact(c)
			for _, f := range rules(c, &models.Holding{Role: h.Holder.Role, FromOn: h.Holder.Since, NoticeOn: h.Holder.NoticeOn}) {
				switch f.Field {
				case "ref", "name", "kind":
					f.Field = "contact_" + f.Field
				case "role":
					f.Field = "holder_role"
				case "from_on":
					f.Field = "holder_since"
				}
				out = append(out, f)
			}
		}
		if h.Covering != "" || !h.Roof.Laid.IsZero() {
			r := h.Roof
			r.HouseID = max(r.HouseID, 1)
			out = append(out, rules(&r)...)
		}
		return out
	},
}
