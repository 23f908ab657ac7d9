package store

import "overhang/models"

// Neighbours reads the houses with a known position as sales sees them: the
// covering that lies on each, whether it is ours and what it replaced, and how
// far we have come. A neighbourhood narrows it; ours are always in, since the
// others are compared with them.
func Neighbours(q Query, neighbourhood string) ([]models.Neighbour, error) {
	return neighbours(q, "? = '' OR h.neighbourhood = ? OR r.ours = 1", neighbourhood, neighbourhood)
}

// NeighboursAt is Neighbours of some houses alone.
func NeighboursAt(q Query, houses []int64) ([]models.Neighbour, error) {
	return neighbours(q, "h.id IN ?", houses)
}

func neighbours(q Query, which string, args ...any) ([]models.Neighbour, error) {
	stops, err := stopList(q)
	if err != nil {
		return nil, err
	}
	rows, err := Rows[models.Neighbour](q, `
SELECT h.id AS house_id, h.lat, h.lon, a.number, a.street, a.unit, a.town, h.neighbourhood, h.builder, h.plan, h.build_year, h.cladding, h.storeys,
       r.id AS roof_id, coalesce(c.family, '') AS family, coalesce(c.name, '') AS covering, r.laid_on, coalesce(r.laid_precision, '') AS laid_precision, coalesce(r.ours, 0) AS ours,
       coalesce(p.signs_posted, 0) AS stopped, a.folded,
       coalesce(p.state, 'not_called') AS state, p.next_on,
       CASE WHEN p.id IS NULL THEN NULL ELSE (SELECT substr(max(at), 1, 10) FROM knocks WHERE house_id = h.id) END AS called_on,
       CASE WHEN r.ours THEN coalesce(oc.family, '') ELSE '' END AS old_family, CASE WHEN r.ours THEN o.laid_on END AS old_laid_on
FROM houses h
JOIN addresses a ON a.house_id = h.id AND a.main = 1
LEFT JOIN roofs r ON r.id = (SELECT id FROM roofs WHERE house_id = h.id AND ended_on IS NULL ORDER BY ours DESC, laid_on DESC LIMIT 1)
LEFT JOIN coverings c ON c.id = r.covering_id
LEFT JOIN roofs o ON r.ours = 1 AND o.id = (SELECT id FROM roofs WHERE house_id = h.id AND ended_on IS NOT NULL ORDER BY laid_on DESC LIMIT 1)
LEFT JOIN coverings oc ON oc.id = o.covering_id
LEFT JOIN prospects p ON p.house_id = h.id
WHERE h.ended_on IS NULL AND h.lat IS NOT NULL AND (`+which+`)
ORDER BY h.id`, args...)
	for i := range rows {
		rows[i].Stopped = rows[i].Stopped || stops.has(rows[i].Folded)
	}
	return rows, err
}
