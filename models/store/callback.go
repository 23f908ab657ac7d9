package store

import (
	"strings"
	"time"

	"overhang/models"
)

// CallbackFilter says which callbacks to list.
type CallbackFilter struct {
	// State is one of models.CallbackStates, or "open" for all that are not closed
	// or refused; of those "water" are the ones with water coming in, and "late"
	// the ones that were not rung back by when we promised.
	State    string
	Now      time.Time // for "late"
	Text     string    // in the address, the ref, and with Contacts the caller and the telephone
	Contacts bool
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
	const open = "b.state NOT IN ('closed', 'refused')"
	switch {
	case f.State == "open":
		where = append(where, open)
	case f.State == "water":
		where = append(where, open, "b.water_coming_in")
	case f.State == "late":
		where, args = append(where, open, "b.rung_back_at IS NULL AND b.ring_back_by < ?"), append(args, f.Now.UTC())
	case f.State != "":
		where, args = append(where, "b.state = ?"), append(args, f.State)
	}
	if text := models.Fold(f.Text); text != "" {
		plain := "%" + strings.ToLower(strings.TrimSpace(f.Text)) + "%"
		in := "a.folded LIKE ? OR lower(b.ref) LIKE ? OR lower(b.address_given) LIKE ?"
		args = append(args, "%"+text+"%", plain, plain)
		if f.Contacts {
			in += " OR lower(b.caller) LIKE ?"
			args = append(args, plain)
			if phone := models.FoldPhone(f.Text); len(phone) >= 4 {
				in += " OR replace(replace(replace(replace(replace(b.phone, '-', ''), ' ', ''), '(', ''), ')', ''), '.', '') LIKE ?"
				args = append(args, "%"+phone+"%")
			}
		}
		where = append(where, "("+in+")")
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
(SELECT coalesce(sum(amount + tax), 0) FROM cost_lines WHERE callback_id = b.id) AS cost`+from+`
ORDER BY b.state IN ('closed', 'refused'), b.water_coming_in DESC, b.rung_back_at IS NOT NULL, CASE WHEN b.state IN ('closed', 'refused') THEN '' ELSE b.learned_on END, b.learned_on DESC, b.id
LIMIT ? OFFSET ?`, append(args, limit, offset)...)
	return rows, total[0].N, err
}

// CallbackCounts says how many callbacks are open, and of those how many were
// not rung back by when we promised and how many have water coming in.
type CallbackCounts struct{ Open, Late, Water int }

// CountCallbacks counts the callbacks that need somebody at a moment.
func CountCallbacks(q Query, now time.Time) (CallbackCounts, error) {
	rows, err := Rows[CallbackCounts](q, `SELECT count(*) AS open,
count(CASE WHEN rung_back_at IS NULL AND ring_back_by < ? THEN 1 END) AS late,
count(CASE WHEN water_coming_in THEN 1 END) AS water
FROM callbacks WHERE state NOT IN ('closed', 'refused')`, now.UTC())
	if err != nil {
		return CallbackCounts{}, err
	}
	return rows[0], nil
}
