package store

import (
	"strings"

	"overhang/models"
)

// Hit is one house that a search found, with its newest roof.
type Hit struct {
	HouseID       int64
	RoofID        *int64
	RoofRef       string
	Ours          bool
	Number        string
	Street        string
	Unit          string
	Town          string
	Neighbourhood string
	Holder        string // whoever holds the house now, where contacts were searched
	Phone         string
}

// Address writes the hit's address on one line.
func (h Hit) Address() string {
	a := models.Address{Unit: h.Unit, Number: h.Number, Street: h.Street, Town: h.Town}
	return a.Line()
}

// Search finds houses by address (old spellings too), by the number of a house
// or roof, and, where withContacts is set, by the name or telephone number of
// whoever holds them now or did. It is blind to accents, case and the short
// forms of street words. Our own roofs come first.
func Search(q Query, text string, withContacts bool, limit int) ([]Hit, error) {
	words := strings.Fields(models.Fold(text))
	if len(words) == 0 {
		return nil, nil
	}
	var like strings.Builder
	var args []any
	all := func(column string) string {
		like.Reset()
		for i, w := range words {
			if i > 0 {
				like.WriteString(" AND ")
			}
			// A word begins where the text or a space does, so that "12 oak" does
			// not find "112 oak".
			like.WriteString("(' ' || " + column + ") LIKE ?")
			args = append(args, "% "+w+"%")
		}
		return like.String()
	}
	statement := "SELECT house_id FROM addresses WHERE " + all("folded")
	statement += " UNION SELECT id FROM houses WHERE ref = ? COLLATE NOCASE UNION SELECT house_id FROM roofs WHERE ref = ? COLLATE NOCASE"
	trimmed := strings.TrimSpace(text)
	args = append(args, trimmed, trimmed)
	if withContacts {
		statement += " UNION SELECT o.house_id FROM holdings o JOIN contacts c ON c.id = o.contact_id WHERE (" + all("c.folded")
		if phone := models.FoldPhone(text); len(phone) >= 4 {
			statement += ") OR (c.folded LIKE ?"
			args = append(args, "%"+phone+"%")
		}
		statement += ")"
	}
	args = append(append([]any{withContacts, withContacts}, args...), limit)
	return Rows[Hit](q, `
SELECT h.id AS house_id, r.id AS roof_id, coalesce(r.ref, '') AS roof_ref, coalesce(r.ours, 0) AS ours,
       a.number, a.street, a.unit, a.town, h.neighbourhood,
       CASE WHEN ? THEN coalesce(c.name, '') ELSE '' END AS holder,
       CASE WHEN ? THEN coalesce(c.phone, '') ELSE '' END AS phone
FROM houses h
JOIN addresses a ON a.id = (SELECT id FROM addresses WHERE house_id = h.id ORDER BY main DESC, id LIMIT 1)
LEFT JOIN roofs r ON r.id = (SELECT id FROM roofs WHERE house_id = h.id ORDER BY ended_on IS NOT NULL, ours DESC, laid_on DESC LIMIT 1)
LEFT JOIN contacts c ON c.id = (SELECT contact_id FROM holdings WHERE house_id = h.id AND to_on IS NULL ORDER BY role = 'owner' DESC, id DESC LIMIT 1)
WHERE h.ended_on IS NULL AND h.id IN (`+statement+`)
ORDER BY coalesce(r.ours, 0) DESC, a.street, CAST(a.number AS INTEGER), h.id
LIMIT ?`, args...)
}
