package intake

import (
	"errors"
	"slices"
	"strings"

	"overhang/analytics/units"
	"overhang/models"
)

// Storm is a row of a file of storms.
type Storm struct{ models.Storm }

// Storms are weather that crossed the town.
var Storms = &Sheet[Storm]{
	name:  "storms",
	about: "Storms, each with its track or its area on the map.",
	columns: slices.Concat([]column[Storm]{
		textColumn("ref", "our own number of the storm", 40, func(s *Storm) *string { return &s.Ref }, key, example[Storm]("S-0001", "S-0002")),
		textColumn("name", "", 120, func(s *Storm) *string { return &s.Name }, example[Storm]("June hail", "October wind")),
		dayColumn("on", "", func(s *Storm) *units.Date { return &s.On }, example[Storm]("2023-06-14", "2023-10-02")),
		wordColumn("kind", "", models.StormKinds, func(s *Storm) *string { return &s.Kind }, example[Storm]("hail", "wind")),
		listColumn("shape", "points of the track or the area, each as latitude and longitude in degrees, with | between them", mostOfItem,
			func(s *Storm, items []string) (err error) { s.Shape, err = parseShape(items); return err },
			func(s *Storm) []string {
				var out []string
				for _, p := range s.Shape {
					out = append(out, writeNumber(p.Lat)+" "+writeNumber(p.Lon))
				}
				return out
			}, example[Storm]("39.98 -105.24|40.03 -105.15", "39.9 -105.3|39.9 -105.1|40.1 -105.1|40.1 -105.3")),
		sureColumn("closed", "an area rather than a track", func(s *Storm) *bool { return &s.Closed }, needed, example[Storm]("no", "yes")),
	},
		quantityAlways("half_width", "either side of a track", tracks, func(s *Storm) *units.Length { return &s.HalfWidth }, example[Storm]("1.5", "")),
		quantity("hail_size", "", smallLengths, func(s *Storm) **units.Length { return &s.HailSize }, example[Storm]("1.25", "")),
		quantity("gust", "", gusts, func(s *Storm) **float64 { return &s.Gust }, example[Storm]("", "68")),
		[]column[Storm]{
			textColumn("notes", "", 4000, func(s *Storm) *string { return &s.Notes }, example[Storm]("", "Two trees down")),
		}),
	check: func(s *Storm) []models.FieldError { return rules(&s.Storm) },
}

func parseShape(items []string) (models.JSON[models.LatLon], error) {
	var out models.JSON[models.LatLon]
	for _, item := range items {
		var p models.LatLon
		parts := strings.Fields(item)
		ok := len(parts) == 2
		for i, to := range []*float64{&p.Lat, &p.Lon} {
			if ok {
				v, err := parseNumber(parts[i], false)
				*to, ok = v, err == nil
			}
		}
		if !ok {
			return nil, errors.New("write each point as latitude and longitude, such as 40.01 -105.27, with | between the points")
		}
		out = append(out, p)
	}
	return out, nil
}
