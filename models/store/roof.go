package store

import (
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// RoofFilter says which roofs to list.
type RoofFilter struct {
	Text          string // in the address or the ref
	Neighbourhood string
	Family        string
	Ours          *bool
	Standing      *bool   // not ended
	PastFrom      float64 // at least this chance of being past its line; 0 asks nothing
	SoonFrom      float64 // at least this chance of being worn out within five years; 0 asks nothing
	LaidFrom      int     // year
	LaidTo        int
	Sort          string // one of RoofSorts; "" is by address
	Down          bool
	// Blind is the person from whom estimates are kept; nil keeps none.
	Blind *Blind
}

// Blind is a person from whom the estimates are kept of the roofs that they said they
// are going to look at, or of all that lie there.
type Blind struct {
	PersonID int64
	All      bool
}

// keptFrom is the condition that the estimate of the roof r is kept from a person:
// from whom it is of all, or who said that they are going to look at it.
const keptFrom = `(r.ended_on IS NULL AND (? OR EXISTS (SELECT 1 FROM showings s WHERE s.person_id = ? AND s.roof_id = r.id AND s.said = 'looks')))`

// RoofsKept lists the roofs of which the estimate is kept from a person, by number.
func RoofsKept(q Query, from Blind) ([]int64, error) {
	return IDs(q, "SELECT r.id FROM roofs r WHERE "+keptFrom+" ORDER BY r.id", from.All, from.PersonID)
}

// RoofSorts are the orders that a listing of roofs can have, and the columns
// they are by. What is not known comes last, whichever way it is sorted.
var RoofSorts = map[string][]string{
	"address": {"a.street", "CAST(a.number AS INTEGER)"},
	"laid":    {"r.laid_on"},
	"left":    {"e.middle"},
	"area":    {"r.area"},
	"ref":     {"r.ref"},
}

// RoofRow is a roof in a listing, with its newest estimate where it has one.
type RoofRow struct {
	ID            int64
	Ref           string
	Structure     string // what it lies on, where that is not the house itself
	HouseID       int64
	Number        string
	Street        string
	Unit          string
	Town          string
	Neighbourhood string
	Covering      string
	Family        string
	LaidOn        units.Date
	LaidPrecision units.Precision
	EndedOn       units.Date
	EndReason     string
	Ours          bool
	Area          *units.Area
	EstimatedOn   units.Date
	Low           *float64
	Middle        *float64
	High          *float64
	ChancePast    *float64
	TooNew        bool
	Blind         bool // the estimate is kept from the person who asks
}

// Address writes where the roof is.
func (r RoofRow) Address() string {
	a := models.Address{Unit: r.Unit, Number: r.Number, Street: r.Street, Town: r.Town}
	return a.Line()
}

// Laid gives when the roof was laid and how well that is known.
func (r RoofRow) Laid() units.Dated { return units.Dated{On: r.LaidOn, Precision: r.LaidPrecision} }

// Roofs lists roofs: one page, and how many there are in all.
func Roofs(q Query, f RoofFilter, page Page) ([]RoofRow, int, error) {
	where, args := []string{"1 = 1"}, []any{}
	blind, blindTo := "0", []any(nil)
	if f.Blind != nil {
		blind, blindTo = keptFrom, []any{f.Blind.All, f.Blind.PersonID}
		args = append(args, blindTo...)
	}
	add := func(cond string, values ...any) { where, args = append(where, cond), append(args, values...) }
	if f.Ours != nil {
		add("r.ours = ?", *f.Ours)
	}
	if f.Standing != nil {
		add("(r.ended_on IS NULL) = ?", *f.Standing)
	}
	for _, word := range strings.Fields(models.Fold(f.Text)) {
		add("((' ' || a.folded) LIKE ? OR lower(r.ref) LIKE ?)", "% "+word+"%", "%"+word+"%")
	}
	if f.Neighbourhood != "" {
		add("h.neighbourhood = ?", f.Neighbourhood)
	}
	if f.Family != "" {
		add("coalesce(c.family, 'unknown') = ?", f.Family)
	}
	if f.LaidFrom != 0 {
		add("r.laid_on >= ?", units.NewDate(f.LaidFrom, 1, 1))
	}
	if f.LaidTo != 0 {
		add("r.laid_on <= ?", units.NewDate(f.LaidTo, 12, 31))
	}
	if f.PastFrom > 0 {
		add("e.chance_past >= ?", f.PastFrom)
	}
	if f.SoonFrom > 0 {
		add("e.chance_in5 >= ?", f.SoonFrom)
	}
	from := ` FROM roofs r
JOIN houses h ON h.id = r.house_id
LEFT JOIN addresses a ON a.house_id = r.house_id AND a.main = 1
LEFT JOIN coverings c ON c.id = r.covering_id
LEFT JOIN structures s ON s.id = r.structure_id
LEFT JOIN estimates e ON e.id = (SELECT id FROM estimates WHERE roof_id = r.id ORDER BY as_of DESC, id DESC LIMIT 1) AND NOT ` + blind + `
WHERE ` + strings.Join(where, " AND ")
	total, err := Rows[struct{ N int }](q, "SELECT count(*) AS n"+from, args...)
	if err != nil {
		return nil, 0, err
	}
	columns, known := RoofSorts[f.Sort]
	if !known {
		columns = RoofSorts["address"]
	}
	way := " ASC NULLS LAST"
	if f.Down {
		way = " DESC NULLS LAST"
	}
	order := strings.Join(columns, way+", ") + way
	offset, limit := page.Bounds()
	rows, err := Rows[RoofRow](q, `SELECT r.id, r.ref, CASE WHEN s.kind <> 'main' THEN s.name ELSE '' END AS structure, r.house_id, coalesce(a.number, '') AS number, coalesce(a.street, '') AS street,
coalesce(a.unit, '') AS unit, coalesce(a.town, '') AS town,
h.neighbourhood, coalesce(c.name, '') AS covering, coalesce(c.family, '') AS family, r.laid_on, r.laid_precision, r.ended_on, r.end_reason, r.ours, r.area,
e.as_of AS estimated_on, e.low, e.middle, e.high, e.chance_past, coalesce(e.too_new, 0) AS too_new, `+blind+` AS blind`+from+`
ORDER BY `+order+`, r.id LIMIT ? OFFSET ?`, append(append(blindTo[:len(blindTo):len(blindTo)], args...), limit, offset)...)
	return rows, total[0].N, err
}

// Neighbourhoods lists the names of the neighbourhoods that have houses.
func Neighbourhoods(q Query) ([]string, error) {
	rows, err := Rows[struct{ Neighbourhood string }](q, "SELECT DISTINCT neighbourhood FROM houses WHERE neighbourhood <> '' ORDER BY neighbourhood")
	out := make([]string, len(rows))
	for i, r := range rows {
		out[i] = r.Neighbourhood
	}
	return out, err
}

// OurRoofIDs lists our roofs that are not ended.
func OurRoofIDs(q Query) ([]int64, error) {
	return IDs(q, "SELECT id FROM roofs WHERE ours = 1 AND ended_on IS NULL ORDER BY id")
}

// StandingRoofIDs lists all roofs that are not ended, ours or not.
func StandingRoofIDs(q Query) ([]int64, error) {
	return IDs(q, "SELECT id FROM roofs WHERE ended_on IS NULL ORDER BY id")
}

// PromisedRoofIDs lists the roofs that have a warranty, ended or not.
func PromisedRoofIDs(q Query) ([]int64, error) {
	return IDs(q, "SELECT DISTINCT roof_id AS id FROM warranties ORDER BY roof_id")
}

// IDs reads the column id of a statement.
func IDs(q Query, statement string, args ...any) ([]int64, error) {
	rows, err := Rows[struct{ ID int64 }](q, statement, args...)
	out := make([]int64, len(rows))
	for i, r := range rows {
		out[i] = r.ID
	}
	return out, err
}
