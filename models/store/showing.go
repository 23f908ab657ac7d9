package store

import (
	"overhang/analytics/units"
	"overhang/models"
)

// ShowingsOf reads what stands between a person and the estimates of the roofs of a
// house.
func ShowingsOf(q Query, personID, houseID int64) (map[int64]models.Showing, error) {
	found, err := List[models.Showing](q, "roof_id", "person_id = ? AND roof_id IN (SELECT id FROM roofs WHERE house_id = ?)", personID, houseID)
	out := make(map[int64]models.Showing, len(found))
	for _, s := range found {
		out[s.RoofID] = s
	}
	return out, err
}

// ShownSince says which of some roofs had their estimate shown to a person on a day
// or after it.
func ShownSince(q Query, personID int64, roofs []int64, day units.Date) (map[int64]bool, error) {
	out := map[int64]bool{}
	for start := 0; start < len(roofs); start += batch {
		ids, err := IDs(q, "SELECT roof_id AS id FROM showings WHERE person_id = ? AND shown_on >= ? AND roof_id IN ?", personID, day, roofs[start:min(start+batch, len(roofs))])
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			out[id] = true
		}
	}
	return out, nil
}

// Shown writes down that the estimate of a roof was shown to a person. An earlier day
// is overwritten, a later one stays.
func (tx *Tx) Shown(personID, roofID int64, on units.Date) error {
	_, err := tx.Exec(`INSERT INTO showings (person_id, roof_id, shown_on, said) VALUES (?, ?, ?, '')
ON CONFLICT DO UPDATE SET shown_on = excluded.shown_on WHERE shown_on IS NULL OR shown_on < excluded.shown_on`, personID, roofID, on)
	return err
}

// SayLook writes down what a person says of going to look at a roof.
func (tx *Tx) SayLook(personID, roofID int64, said string, on units.Date) error {
	_, err := tx.Exec(`INSERT INTO showings (person_id, roof_id, said, said_on) VALUES (?, ?, ?, ?)
ON CONFLICT DO UPDATE SET said = excluded.said, said_on = excluded.said_on`, personID, roofID, said, on)
	return err
}

// SaidNothing takes back what a person said of some roofs.
func (tx *Tx) SaidNothing(personID int64, roofs []int64) error {
	_, err := tx.Exec("UPDATE showings SET said = '', said_on = NULL WHERE person_id = ? AND roof_id IN ? AND said <> ''", personID, roofs)
	return err
}
