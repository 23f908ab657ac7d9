package visits

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"overhang/analytics/geo"
	"overhang/analytics/units"
)

var shop = geo.Point{Lat: 45, Lon: -93}

func stopsAround(r *rand.Rand, n int, side float64) []Stop {
	stops := make([]Stop, n)
	for i := range stops {
		stops[i] = Stop{ID: fmt.Sprint("s", i), At: geo.Point{Lat: 45 + side*(r.Float64()-0.5), Lon: -93 + 1.4*side*(r.Float64()-0.5)}, OverdueDays: r.IntN(400)}
		if r.IntN(3) == 0 {
			stops[i].ServiceMinutes = 10 + 80*r.Float64()
		}
	}
	return stops
}

func TestPlanProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		in := PlanInput{
			Settings: PlanSettings{
				Start: shop, Back: rapid.Bool().Draw(t, "back"),
				MaxStops: rapid.IntRange(1, 9).Draw(t, "most stops"), DayMinutes: rapid.SampledFrom([]float64{0, 60, 240, 480}).Draw(t, "minutes"),
				SpeedKMH: rapid.Float64Range(5, 60).Draw(t, "speed"), Days: rapid.SampledFrom([]int{0, 0, 1, 3}).Draw(t, "days"),
			},
			Stops: stopsAround(r, rapid.IntRange(0, 40).Draw(t, "stops"), rapid.SampledFrom([]float64{0.01, 0.2, 2}).Draw(t, "side")),
		}
		plan, err := PlanDays(in)
		if err != nil {
			t.Fatal(err)
		}
		s := in.Settings.withDefaults()
		byID := map[string]Stop{}
		for _, stop := range in.Stops {
			byID[stop.ID] = stop
		}
		seen := map[string]int{}
		for _, id := range append(slices.Clone(plan.Later), plan.TooFar...) {
			seen[id]++
		}
		total, mostBefore := units.Length(0), math.MaxInt
		for i, d := range plan.Days {
			if len(d.Stops) == 0 || len(d.Stops) > s.MaxStops {
				t.Fatalf("day %d has %d stops of at most %d", i, len(d.Stops), s.MaxStops)
			}
			if s.DayMinutes > 0 && d.Minutes > s.DayMinutes+1e-6 {
				t.Fatalf("day %d takes %v minutes of %v", i, d.Minutes, s.DayMinutes)
			}
			from, way, minutes, most := s.Start, 0.0, 0.0, 0
			for _, stop := range d.Stops {
				seen[stop.ID]++
				given := byID[stop.ID]
				leg := float64(geo.Distance(from, given.At))
				way, minutes = way+leg, minutes+leg/1000/s.SpeedKMH*60
				if math.Abs(stop.AfterMinutes-minutes) > 1e-6 || math.Abs(float64(stop.Leg)-leg) > 1e-4 {
					t.Fatalf("%+v, reached after %v m and %v minutes", stop, leg, minutes)
				}
				if given.ServiceMinutes == 0 {
					given.ServiceMinutes = 45
				}
				minutes += given.ServiceMinutes
				most, from = max(most, given.OverdueDays), given.At
			}
			if s.Back {
				way, minutes = way+float64(geo.Distance(from, s.Start)), minutes+float64(geo.Distance(from, s.Start))/1000/s.SpeedKMH*60
			}
			if math.Abs(float64(d.Distance)-way) > 1e-3 || math.Abs(d.Minutes-minutes) > 1e-6 {
				t.Fatalf("day %d: %v m in %v minutes, measured %v m in %v", i, float64(d.Distance), d.Minutes, way, minutes)
			}
			if most > mostBefore {
				t.Fatalf("day %d has a stop overdue by %d, the day before by %d at most", i, most, mostBefore)
			}
			mostBefore, total = most, total+d.Distance
		}
		for id := range byID {
			if seen[id] != 1 {
				t.Fatalf("%s is there %d times", id, seen[id])
			}
		}
		if len(seen) != len(byID) || plan.Distance != total || (s.Days == 0 && len(plan.Later) > 0) || (s.Days > 0 && len(plan.Days) > s.Days) {
			t.Fatalf("%d of %d stops, %d days, %d later", len(seen), len(byID), len(plan.Days), len(plan.Later))
		}
		for _, id := range plan.TooFar {
			stop := byID[id]
			if stop.ServiceMinutes == 0 {
				stop.ServiceMinutes = 45
			}
			way := float64(geo.Distance(s.Start, stop.At))
			if s.Back {
				way *= 2
			}
			if stop.ServiceMinutes+way/1000/s.SpeedKMH*60 <= s.DayMinutes {
				t.Fatalf("%s would fit a day alone", id)
			}
		}
		r.Shuffle(len(in.Stops), func(i, j int) { in.Stops[i], in.Stops[j] = in.Stops[j], in.Stops[i] })
		if again, err := PlanDays(in); err != nil || !reflect.DeepEqual(again, plan) {
			t.Fatalf("the same stops in another order give other days: %v", err)
		}
	})
}

func TestPlanKeepsVillagesTogether(t *testing.T) {
	// Two villages of five houses, 20 km apart, five stops a day: a day each,
	// though the most overdue alternate between them.
	var stops []Stop
	for i := range 5 {
		off := 0.001 * float64(i)
		stops = append(stops,
			Stop{ID: fmt.Sprint("north", i), At: geo.Point{Lat: 45.09 + off, Lon: -93}, OverdueDays: 100 - i},
			Stop{ID: fmt.Sprint("south", i), At: geo.Point{Lat: 44.91 - off, Lon: -93}, OverdueDays: 100 - i})
	}
	plan, err := PlanDays(PlanInput{PlanSettings{Start: shop, Back: true, MaxStops: 5}, stops})
	if err != nil || len(plan.Days) != 2 {
		t.Fatalf("%+v, %v", plan, err)
	}
	for i, village := range []string{"north", "south"} {
		for _, stop := range plan.Days[i].Stops {
			if !strings.HasPrefix(stop.ID, village) {
				t.Errorf("day %d goes to %s", i, stop.ID)
			}
		}
		// There and back along one road: twice the way to the farthest house.
		farthest := geo.Distance(shop, geo.Point{Lat: []float64{45.094, 44.906}[i], Lon: -93})
		if got := plan.Days[i].Distance; math.Abs(float64(got-2*farthest)) > 0.01 {
			t.Errorf("day %d is %v m, the shortest way is %v m", i, float64(got), float64(2*farthest))
		}
	}
}

func TestPlanRefusals(t *testing.T) {
	for field, change := range map[string]func(*PlanInput){
		"settings.start: lat":         func(in *PlanInput) { in.Settings.Start.Lat = 91 },
		"settings.max_stops -1":       func(in *PlanInput) { in.Settings.MaxStops = -1 },
		"settings.days -1":            func(in *PlanInput) { in.Settings.Days = -1 },
		"settings.day_minutes NaN":    func(in *PlanInput) { in.Settings.DayMinutes = math.NaN() },
		"settings.service_minutes -5": func(in *PlanInput) { in.Settings.ServiceMinutes = -5 },
		"settings.speed_kmh 900":      func(in *PlanInput) { in.Settings.SpeedKMH = 900 },
		"stops[0].id: is needed":      func(in *PlanInput) { in.Stops[0].ID = "" },
		"stops[1].id \"a\": is there": func(in *PlanInput) { in.Stops = append(in.Stops, in.Stops[0]) },
		"stops[0].service_minutes -1": func(in *PlanInput) { in.Stops[0].ServiceMinutes = -1 },
		"stops[0].at: lon":            func(in *PlanInput) { in.Stops[0].At.Lon = 300 },
	} {
		in := PlanInput{PlanSettings{Start: shop}, []Stop{{ID: "a", At: shop}}}
		change(&in)
		if _, err := PlanDays(in); err == nil || !strings.HasPrefix(err.Error(), field) {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func BenchmarkPlanDays(b *testing.B) {
	for _, n := range []int{60, 1000, 5000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			in := PlanInput{PlanSettings{Start: shop, Back: true, DayMinutes: 480}, stopsAround(rand.New(rand.NewPCG(2, 2)), n, 0.3)}
			for b.Loop() {
				if _, err := PlanDays(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
