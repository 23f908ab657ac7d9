package store

import "overhang/analytics/units"

// EstimateMark is what tells whether a roof must be estimated anew.
type EstimateMark struct {
	RoofID     int64
	AsOf       units.Date
	InputsHash string
}

// NewestEstimates reads the mark of each roof's newest estimate.
func NewestEstimates(q Query) (map[int64]EstimateMark, error) {
	rows, err := Rows[EstimateMark](q, `SELECT roof_id, as_of, inputs_hash FROM estimates e
WHERE id = (SELECT id FROM estimates WHERE roof_id = e.roof_id ORDER BY as_of DESC, id DESC LIMIT 1)`)
	out := make(map[int64]EstimateMark, len(rows))
	for _, r := range rows {
		out[r.RoofID] = r
	}
	return out, err
}
