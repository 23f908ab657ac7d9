package store

import "overhang/models"

// Holder reads whoever holds a house now, the owner before a tenant or manager;
// nil when nobody is known.
func Holder(q Query, houseID int64) (*models.Contact, error) {
	c, err := First[models.Contact](q, `id = (SELECT contact_id FROM holdings
WHERE house_id = ? AND to_on IS NULL ORDER BY role = 'owner' DESC, id DESC LIMIT 1)`, houseID)
	if models.CodeOf(err) == models.NotFound {
		return nil, nil
	}
	return c, err
}
