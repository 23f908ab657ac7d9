package store

import "overhang/models"

// LivedRoofs reads the roofs that we laid, those on houses of a neighbourhood that
// is or was watched, and those elsewhere that are known to have ended, which are
// counted but tell nothing.
func LivedRoofs(q Query) ([]models.LivedRoof, error) {
	return Rows[models.LivedRoof](q, `
SELECT r.*, coalesce(c.family, 'unknown') AS family, h.neighbourhood, h.build_year,
(SELECT min(b.repaired_on) FROM callbacks b WHERE b.roof_id = r.id AND b.relaid <> '' AND b.repaired_on > r.laid_on) AS relaid_on
FROM roofs r
JOIN houses h ON h.id = r.house_id
LEFT JOIN coverings c ON c.id = r.covering_id
WHERE r.ours = 1 OR r.ended_on IS NOT NULL OR h.neighbourhood IN (SELECT neighbourhood FROM watches)
ORDER BY r.id`)
}
