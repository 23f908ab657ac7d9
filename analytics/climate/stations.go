package climate

import (
	"fmt"
	"strings"
	"sync"
)

// station is the normals of a real place in snow country. Sun is in kWh/m² a
// day on the horizontal.
type station struct {
	key, name, source  string
	lat, lon, zone, up float64 // degrees, hours, m
	normals            Normals
}

const (
	fromNOAA = "NOAA 1991-2020 climate normals, from memory; sun after NREL's Solar Radiation Data Manual for Flat-Plate and Concentrating Collectors (1961-1990), wind and humidity after NOAA's local climatological data, all from memory"
	fromECCC = "Environment Canada, Canadian Climate Normals 1971-2000, %s: temperature, snowfall and snow depth as published; sun, wind and humidity from memory"
)

var stations = []station{
	{"minneapolis", "Minneapolis–St. Paul, Minnesota", fromNOAA + "; winter temperatures agree with a second-hand table of the same normals", 44.883, -93.229, -6, 255, Normals{
		MaxF:       []float64{23.6, 28.5, 41.7, 56.6, 69.2, 79.0, 83.4, 80.7, 72.9, 58.1, 41.9, 28.8},
		MinF:       []float64{8.8, 12.7, 24.9, 37.5, 49.9, 60.4, 65.3, 62.8, 54.2, 40.9, 27.7, 15.2},
		SunKWh:     []float64{1.9, 2.8, 3.9, 4.9, 5.8, 6.3, 6.3, 5.4, 4.1, 2.7, 1.7, 1.5},
		WindMPH:    []float64{10.3, 10.2, 10.8, 11.5, 10.8, 9.8, 9.0, 8.8, 9.4, 10.2, 10.6, 10.3},
		Humidity:   []float64{70, 70, 67, 60, 60, 64, 65, 68, 70, 68, 72, 74},
		SnowfallIn: []float64{11.0, 9.5, 8.2, 3.5, 0, 0, 0, 0, 0, 0.8, 6.8, 11.4},
	}},
	{"duluth", "Duluth, Minnesota", fromNOAA + "; snowfall of January to April from the National Weather Service's climate reports for Duluth on the same normals", 46.837, -92.183, -6, 432, Normals{
		MaxF:       []float64{19.4, 24.3, 35.1, 47.9, 61.4, 71.3, 76.9, 74.9, 66.3, 51.7, 36.4, 24.2},
		MinF:       []float64{2.2, 5.6, 18.0, 29.9, 40.9, 50.0, 56.8, 56.0, 48.0, 36.3, 22.9, 9.3},
		SunKWh:     []float64{1.7, 2.6, 3.8, 4.8, 5.5, 5.9, 6.0, 5.0, 3.6, 2.4, 1.5, 1.3},
		WindMPH:    []float64{11.6, 11.3, 11.8, 12.3, 11.6, 10.4, 9.4, 9.4, 10.4, 11.2, 11.6, 11.2},
		Humidity:   []float64{72, 70, 68, 63, 62, 69, 71, 74, 75, 71, 76, 77},
		SnowfallIn: []float64{16.8, 15.1, 12.8, 8.6, 0.5, 0, 0, 0, 0, 2.6, 13.8, 19.2},
	}},
	{"buffalo", "Buffalo, New York", fromNOAA, 42.941, -78.736, -5, 218, Normals{
		MaxF:       []float64{32.1, 33.3, 41.8, 55.0, 67.8, 76.1, 80.4, 79.0, 72.3, 59.6, 47.8, 37.3},
		MinF:       []float64{19.5, 19.6, 26.5, 37.1, 48.6, 58.4, 63.4, 62.1, 54.8, 44.4, 34.3, 25.4},
		SunKWh:     []float64{1.5, 2.3, 3.3, 4.5, 5.5, 6.1, 6.1, 5.2, 3.9, 2.6, 1.5, 1.2},
		WindMPH:    []float64{14.0, 13.4, 13.2, 12.6, 11.6, 11.1, 10.4, 9.9, 10.4, 11.2, 12.8, 13.5},
		Humidity:   []float64{76, 76, 74, 69, 69, 70, 69, 73, 74, 73, 75, 77},
		SnowfallIn: []float64{26.7, 18.1, 14.1, 2.7, 0.3, 0, 0, 0, 0, 0.9, 7.4, 25.2},
	}},
	{"burlington", "Burlington, Vermont", fromNOAA, 44.468, -73.150, -5, 101, Normals{
		MaxF:       []float64{28.7, 31.2, 40.7, 55.1, 69.0, 77.7, 82.4, 80.5, 72.9, 58.8, 46.2, 34.9},
		MinF:       []float64{12.1, 13.4, 23.2, 35.5, 47.3, 57.0, 62.0, 60.2, 52.5, 41.3, 31.0, 19.9},
		SunKWh:     []float64{1.7, 2.6, 3.7, 4.6, 5.5, 6.0, 6.0, 5.2, 4.0, 2.5, 1.5, 1.3},
		WindMPH:    []float64{9.8, 9.4, 9.5, 9.4, 8.9, 8.4, 8.0, 7.6, 8.3, 8.8, 9.6, 9.9},
		Humidity:   []float64{69, 68, 66, 63, 64, 68, 68, 72, 74, 71, 73, 73},
		SnowfallIn: []float64{21.4, 19.4, 17.0, 3.7, 0, 0, 0, 0, 0, 0.3, 6.1, 19.6},
	}},
	{"anchorage", "Anchorage, Alaska", fromNOAA, 61.169, -150.028, -9, 40, Normals{
		MaxF:       []float64{23.1, 27.1, 33.9, 45.5, 56.6, 63.5, 65.7, 63.9, 55.6, 41.8, 29.1, 25.0},
		MinF:       []float64{11.2, 14.6, 18.5, 29.7, 40.3, 48.8, 53.0, 50.7, 43.0, 30.7, 18.0, 13.9},
		SunKWh:     []float64{0.4, 1.0, 2.3, 3.8, 4.8, 5.1, 4.7, 3.6, 2.3, 1.1, 0.5, 0.2},
		WindMPH:    []float64{6.2, 6.5, 6.7, 7.1, 8.2, 8.2, 7.1, 6.7, 6.5, 6.5, 6.3, 6.0},
		Humidity:   []float64{73, 71, 65, 63, 61, 65, 71, 74, 74, 73, 77, 77},
		SnowfallIn: []float64{12.1, 12.8, 10.0, 4.0, 0.1, 0, 0, 0, 0.2, 8.0, 13.1, 17.6},
	}},
	{"calgary", "Calgary, Alberta", fmt.Sprintf(fromECCC, "Calgary Int'l A"), 51.114, -114.020, -7, 1084, Normals{
		MaxC:        []float64{-2.8, -0.1, 4.0, 11.3, 16.4, 20.2, 22.9, 22.5, 17.6, 12.1, 2.8, -1.3},
		MinC:        []float64{-15.1, -12.0, -7.8, -2.1, 3.1, 7.3, 9.4, 8.6, 4.0, -1.4, -8.9, -13.4},
		SunKWh:      []float64{1.2, 2.1, 3.6, 4.9, 5.8, 6.5, 6.7, 5.6, 4.0, 2.5, 1.4, 1.0},
		WindMS:      []float64{4.2, 4.1, 4.2, 4.6, 4.7, 4.4, 4.0, 3.8, 4.1, 4.3, 4.2, 4.2},
		Humidity:    []float64{64, 63, 62, 55, 54, 59, 60, 60, 58, 54, 64, 65},
		SnowfallCm:  []float64{17.7, 13.4, 21.9, 15.4, 9.7, 0, 0, 0, 4.8, 9.9, 16.4, 17.6},
		SnowDepthCm: []float64{6, 4, 3, 1, 0, 0, 0, 0, 0, 0, 2, 4},
	}},
	{"ottawa", "Ottawa, Ontario", fmt.Sprintf(fromECCC, "Ottawa Macdonald-Cartier Int'l A"), 45.323, -75.669, -5, 114, Normals{
		MaxC:        []float64{-6.1, -4.1, 2.2, 10.8, 19.1, 23.8, 26.5, 24.9, 19.5, 12.5, 4.8, -3.0},
		MinC:        []float64{-15.3, -13.3, -7.1, 0.6, 7.7, 12.7, 15.4, 14.1, 9.1, 3.0, -2.8, -11.1},
		SunKWh:      []float64{1.6, 2.6, 3.8, 4.7, 5.6, 6.1, 6.1, 5.2, 3.9, 2.4, 1.4, 1.3},
		WindMS:      []float64{4.2, 4.1, 4.3, 4.3, 3.8, 3.4, 3.1, 3.0, 3.3, 3.7, 4.0, 4.0},
		Humidity:    []float64{72, 70, 67, 61, 60, 66, 68, 71, 74, 73, 77, 77},
		SnowfallCm:  []float64{55.2, 46.0, 39.8, 11.0, 0.6, 0, 0, 0, 0, 4.1, 21.9, 57.2},
		SnowDepthCm: []float64{27, 32, 23, 2, 0, 0, 0, 0, 0, 0, 2, 14},
	}},
	{"quebec", "Québec, Quebec", fmt.Sprintf(fromECCC, "Quebec/Jean Lesage Intl A"), 46.800, -71.383, -5, 74, Normals{
		MaxC:        []float64{-7.9, -6.1, 0.1, 7.8, 17.1, 22.2, 25.0, 23.4, 17.7, 10.7, 2.9, -4.8},
		MinC:        []float64{-17.6, -16.0, -9.4, -1.3, 5.3, 10.6, 13.4, 12.4, 7.2, 1.7, -4.3, -13.4},
		SunKWh:      []float64{1.5, 2.4, 3.7, 4.6, 5.3, 5.7, 5.7, 4.9, 3.6, 2.2, 1.4, 1.1},
		WindMS:      []float64{4.4, 4.4, 4.5, 4.4, 4.2, 3.7, 3.2, 3.0, 3.4, 3.8, 4.1, 4.2},
		Humidity:    []float64{71, 69, 68, 66, 63, 67, 71, 73, 75, 74, 77, 76},
		SnowfallCm:  []float64{72.9, 63.2, 49.0, 17.6, 0.4, 0, 0, 0, 0, 1.9, 33.2, 77.7},
		SnowDepthCm: []float64{58, 76, 72, 23, 0, 0, 0, 0, 0, 0, 3, 29},
	}},
}

// given puts the place into the normals.
func (s station) given() Normals {
	n := s.normals
	n.Key, n.Name, n.Source = s.key, s.name, s.source
	n.Lat, n.Lon, n.Zone, n.ElevationM = &s.lat, &s.lon, &s.zone, &s.up
	return n
}

// place is where the station is, without its normals.
func (s station) place() Place {
	n, _ := s.given().read()
	return n.place
}

// Stations lists the places whose typical year is known, with the source of
// each one's normals. The result is the caller's own.
func Stations() []Place {
	out := make([]Place, len(stations))
	for i, s := range stations {
		out[i] = s.place()
	}
	return out
}

// StationKeys lists their keys.
func StationKeys() []string {
	out := make([]string, len(stations))
	for i, s := range stations {
		out[i] = s.key
	}
	return out
}

var made = struct {
	sync.Mutex
	years map[string]*Year
}{years: map[string]*Year{}}

// StationYear gives the typical year of a station, shaped from its normals by
// FromNormals. It is made once and shared: do not change it. It refuses a key
// that is not known.
func StationYear(key string) (*Year, error) {
	made.Lock()
	defer made.Unlock()
	if y := made.years[key]; y != nil {
		return y, nil
	}
	for _, s := range stations {
		if s.key != key {
			continue
		}
		y, err := FromNormals(s.given())
		if err != nil {
			return nil, fmt.Errorf("station %s: %w", key, err)
		}
		made.years[key] = y
		return y, nil
	}
	return nil, fmt.Errorf("station %q: must be one of %s", key, strings.Join(StationKeys(), ", "))
}
