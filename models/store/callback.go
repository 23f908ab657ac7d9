package store

import (
	"strings"

	"overhang/models"
)

// CallbackFilter says which callbacks to list.
type CallbackFilter struct {
	State string // one of models.CallbackStates, or "open" for all that are not closed or refused
	Text  string // in the address, the caller, the ref
}

// CallbackRow is a callback in a listing.
type CallbackRow struct {
	models.Callback `gorm:"embedded"`
	Number          string
	Street          string
	Town            string
	RoofRef         string
	Cost            int64 // cents, of all its lines
}

// Address writes where the callback is: the house's address, or what the
// caller said.
func (r CallbackRow) Address() string {
	if r.Street == "" {
		return r.AddressGiven
	}
	a := models.Address{Number: r.Number, Street: r.Street, Town: r.Town}
	return a.Line()
}

// Callbacks lists callbacks: those with water coming in first, then those that
// have waited longest. It gives one page and how many there are in all.
func Callbacks(q Query, f CallbackFilter, page Page) ([]CallbackRow, int, error) {
	where, args := []string{"1 = 1"}, []any{}
	switch {
	case f.State == "open":
		where = append(where, "b.state NOT IN ('closed', 'refused')")
	case f.State != "":
		where, args = append(where, "b.state = ?"), append(args, f.State)
	}
	if text := models.Fold(f.Text); text != "" {
		where = append(where, "(a.folded LIKE ? OR lower(b.caller) LIKE ? OR lower(b.ref) LIKE ? OR lower(b.address_given) LIKE ?)")
		like := "%" + text + "%"
		args = append(args, like, like, "%"+strings.ToLower(strings.TrimSpace(f.Text))+"%", like)
	}
	from := ` FROM callbacks b
LEFT JOIN addresses a ON a.house_id = b.house_id AND a.main = 1
LEFT JOIN roofs r ON r.id = b.roof_id
WHERE ` + strings.Join(where, " AND ")
	total, err := Rows[struct{ N int }](q, "SELECT count(*) AS n"+from, args...)
	if err != nil {
		return nil, 0, err
	}
	offset, limit := page.Bounds()
	rows, err := Rows[CallbackRow](q, `SELECT b.*, a.number, a.street, a.town, coalesce(r.ref, '') AS roof_ref,
(SELECT coalesce(sum(amount), 0) FROM cost_lines WHERE callback_id = b.id) AS cost`+from+`
ORDER BY b.state IN ('closed', 'refused'), b.water_coming_in DESC, b.rung_back_at IS NOT NULL, CASE WHEN b.state IN ('closed', 'refused') THEN '' ELSE b.learned_on END, b.learned_on DESC, b.id
LIMIT ? OFFSET ?`, append(args, limit, offset)...)
	return rows, total[0].N, err
}
