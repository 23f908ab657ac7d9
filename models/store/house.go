package store

import "overhang/models"

// HouseLine is a house in a list of visits.
type HouseLine struct {
	HouseID   int64
	Number    string
	Street    string
	Unit      string
	Town      string
	Lat       *float64
	Lon       *float64
	SiteNotes string
	Holder    string
	Phone     string
}

// Address writes where the house is.
func (h HouseLine) Address() string {
	a := models.Address{Unit: h.Unit, Number: h.Number, Street: h.Street, Town: h.Town}
	return a.Line()
}

// HouseLines reads the houses of visits, by their number, with whoever holds
// them now where contacts are asked for.
func HouseLines(q Query, of []models.Visit, withContacts bool) (map[int64]HouseLine, error) {
	ids := keysOf(of, func(v models.Visit) int64 { return v.HouseID })
	out := make(map[int64]HouseLine, len(ids))
	for start := 0; start < len(ids); start += batch {
		rows, err := Rows[HouseLine](q, `
SELECT h.id AS house_id, a.number, a.street, a.unit, a.town, h.lat, h.lon, h.site_notes,
       CASE WHEN ? THEN coalesce(c.name, '') ELSE '' END AS holder, CASE WHEN ? THEN coalesce(c.phone, '') ELSE '' END AS phone
FROM houses h
JOIN addresses a ON a.id = (SELECT id FROM addresses WHERE house_id = h.id ORDER BY main DESC, id LIMIT 1)
LEFT JOIN contacts c ON c.id = (SELECT contact_id FROM holdings WHERE house_id = h.id AND to_on IS NULL ORDER BY role = 'owner' DESC, id DESC LIMIT 1)
WHERE h.id IN ?`, withContacts, withContacts, ids[start:min(start+batch, len(ids))])
		if err != nil {
			return nil, err
		}
		for _, r := range rows {
			out[r.HouseID] = r
		}
	}
	return out, nil
}
