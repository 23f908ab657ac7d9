package store

import "overhang/analytics/units"

// Borne is what we bore of a callback ourselves, by its cost lines: those that
// we bear, with tax, less what came back.
type Borne struct {
	CallbackID int64
	Cost       units.Money
	LastOn     units.Date // the day of the last line
}

// BorneByUs reads it for every callback that has lines.
func BorneByUs(q Query) (map[int64]Borne, error) {
	rows, err := Rows[Borne](q, `SELECT l.callback_id, max(l.on_day) AS last_on,
sum(CASE WHEN coalesce(nullif(l.bearer, ''), nullif(c.bearer, ''), 'us') IN ('us', 'goodwill') OR l.kind IN ('recovery', 'credit') THEN l.amount + l.tax ELSE 0 END) AS cost
FROM cost_lines l JOIN callbacks c ON c.id = l.callback_id GROUP BY l.callback_id`)
	out := make(map[int64]Borne, len(rows))
	for _, r := range rows {
		out[r.CallbackID] = r
	}
	return out, err
}

// Life is the years left in a roof by its newest estimate.
type Life struct {
	RoofID            int64
	AsOf              units.Date
	Low, Middle, High float64
}

// NewestLives reads it for every roof that has an estimate.
func NewestLives(q Query) (map[int64]Life, error) {
	rows, err := Rows[Life](q, `SELECT roof_id, as_of, low, middle, high FROM estimates e
WHERE id = (SELECT id FROM estimates WHERE roof_id = e.roof_id ORDER BY as_of DESC, id DESC LIMIT 1)`)
	out := make(map[int64]Life, len(rows))
	for _, r := range rows {
		out[r.RoofID] = r
	}
	return out, err
}
