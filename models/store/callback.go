package store

import (
	"strings"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

// CallbackFilter says which callbacks to list.
type CallbackFilter struct {
	// State is one of models.CallbackStates, or "open" for all that are not closed
	// or refused; of those "water" are the ones with water coming in and no cover
	// over it, "late" the ones that were not rung back by when we promised,
	// "overdue" the ones that were not looked at or repaired by when we promised,
	// and "waiting" the ones that wait on something. "returns" are those that came back, open or not.
	State string
	// Of a group: the cause found, the crew and the lot of the job, the covering and
	// the neighbourhood. Each is left open where it is empty.
	Causes        []string
	CrewID        int64
	CoveringID    int64
	Lot           string
	Neighbourhood string

	Now      time.Time  // for "late"
	Today    units.Date // for "overdue"
	Text     string     // in the address, the ref, and with Contacts the caller and the telephone
	Contacts bool
}

// Which callbacks are open, and which of those have water coming in, as in
// models.Callback.Wet, or are later than we promised.
const (
	openCallbacks = "b.state NOT IN ('closed', 'refused')"
	stillWet      = "(b.water_coming_in AND b.covered_on IS NULL AND b.state NOT IN ('repaired', 'closed', 'refused'))"
	ringBackLate  = "(b.rung_back_at IS NULL AND b.ring_back_by < ?)"
	workLate      = "((b.state IN ('new', 'to_look') AND b.looked_on IS NULL AND b.look_by < ?) OR (b.state = 'accepted' AND b.repair_by < ?))"
)

// jobOfCallback is the job that a callback is about: where none is kept with it,
// the one that laid its roof.
const jobOfCallback = `coalesce(b.job_id, (SELECT jr.job_id FROM job_roofs jr JOIN jobs j ON j.id = jr.job_id
WHERE jr.roof_id = b.roof_id ORDER BY coalesce(j.started_on, ''), j.id LIMIT 1))`

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
// are later than we promised, then those that wait on nobody but us, each the
// longest first. It gives one page and how many there are in all.
func Callbacks(q Query, f CallbackFilter, page Page) ([]CallbackRow, int, error) {
	where, args := []string{"1 = 1"}, []any{}
	switch {
	case f.State == "open":
		where = append(where, openCallbacks)
	case f.State == "water":
		where = append(where, openCallbacks, stillWet)
	case f.State == "late":
		where, args = append(where, openCallbacks, ringBackLate), append(args, f.Now.UTC())
	case f.State == "overdue":
		where, args = append(where, openCallbacks, workLate), append(args, f.Today, f.Today)
	case f.State == "waiting":
		where = append(where, openCallbacks, "b.waiting_on <> ''")
	case f.State == "returns":
		where = append(where, "b.return_of IS NOT NULL")
	case f.State != "":
		where, args = append(where, "b.state = ?"), append(args, f.State)
	}
	group := func(known bool, is string, value any) {
		if known {
			where, args = append(where, is), append(args, value)
		}
	}
	group(len(f.Causes) > 0, "b.cause_found IN ?", f.Causes)
	group(f.CrewID != 0, "coalesce(b.crew_id, (SELECT crew_id FROM jobs WHERE id = "+jobOfCallback+")) = ?", f.CrewID)
	group(f.CoveringID != 0, "r.covering_id = ?", f.CoveringID)
	group(f.Lot != "", "EXISTS (SELECT 1 FROM lots l WHERE l.number = ? AND (l.id = b.lot_id OR b.lot_id IS NULL AND l.job_id = "+jobOfCallback+"))", f.Lot)
	group(f.Neighbourhood != "", "EXISTS (SELECT 1 FROM houses h WHERE h.id = b.house_id AND h.neighbourhood = ?)", f.Neighbourhood)
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
ORDER BY b.state IN ('closed', 'refused'), `+stillWet+` DESC, `+ringBackLate+` DESC, `+workLate+` DESC,
b.rung_back_at IS NOT NULL, b.waiting_on <> '', CASE WHEN b.state IN ('closed', 'refused') THEN '' ELSE b.learned_on END, b.learned_on DESC, b.id
LIMIT ? OFFSET ?`, append(args, f.Now.UTC(), f.Today, f.Today, limit, offset)...)
	return rows, total[0].N, err
}

// CallbackCounts says how many callbacks are open, and of those how many were
// not rung back by when we promised, not looked at or repaired by then, wait on
// something, and have water coming in.
type CallbackCounts struct{ Open, Late, Overdue, Waiting, Water int }

// CountCallbacks counts the callbacks that need somebody at a moment of a day.
func CountCallbacks(q Query, now time.Time, today units.Date) (CallbackCounts, error) {
	rows, err := Rows[CallbackCounts](q, `SELECT count(*) AS open,
count(CASE WHEN `+ringBackLate+` THEN 1 END) AS late,
count(CASE WHEN `+workLate+` THEN 1 END) AS overdue,
count(CASE WHEN waiting_on <> '' THEN 1 END) AS waiting,
count(CASE WHEN `+stillWet+` THEN 1 END) AS water
FROM callbacks b WHERE `+openCallbacks, now.UTC(), today, today)
	if err != nil {
		return CallbackCounts{}, err
	}
	return rows[0], nil
}
