package store

import (
	"overhang/analytics/units"
	"overhang/models"
)

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

// YearlyEstimates reads the first estimate of each roof and calendar year, the
// oldest first, by the roof's number.
func YearlyEstimates(q Query) (map[int64][]models.Estimate, error) {
	rows, err := Rows[models.Estimate](q, `SELECT * FROM (SELECT *, row_number() OVER (PARTITION BY roof_id, substr(as_of, 1, 4) ORDER BY as_of, id) AS place FROM estimates)
WHERE place = 1 ORDER BY roof_id, as_of`)
	out := map[int64][]models.Estimate{}
	for _, e := range rows {
		out[e.RoofID] = append(out[e.RoofID], e)
	}
	return out, err
}

// LookedAtRoofs gives the numbers of the roofs that a visit was done on.
func LookedAtRoofs(q Query) ([]int64, error) {
	return IDs(q, `SELECT id FROM roofs WHERE id IN (SELECT roof_id FROM visits WHERE done_on IS NOT NULL AND roof_id IS NOT NULL) ORDER BY id`)
}
