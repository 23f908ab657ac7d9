package store

import "overhang/models"

// NewestLifeFit reads what own lives said last, or nil before they have said
// anything.
func NewestLifeFit(q Query) (*models.LifeFit, error) {
	fits, err := Rows[models.LifeFit](q, "SELECT * FROM life_fits ORDER BY as_of DESC, id DESC LIMIT 1")
	if err != nil || len(fits) == 0 {
		return nil, err
	}
	return &fits[0], nil
}
