package demo

import (
	"strconv"
	"time"

	"overhang/analytics/units"
	"overhang/models"
)

const timeZone = "America/Denver"

// climateStation is the key of the climate that the town is nearest to.
const climateStation = "duluth"

// Zone is the time zone of the company's town, for the day on which a story
// that starts now should end.
func Zone() *time.Location {
	b := models.Branch{TimeZone: timeZone}
	return b.Location()
}

// settings makes the company and its one branch.
func (m *maker) settings() {
	m.c.Company = models.Company{Name: "Tarnwick Roof Works", Street: "12 Sawpit Yard", Town: town, Phone: "(300) 555-0100",
		Email: "office@" + domain, RingBackHours: 24, LookDays: 7, RepairDays: 21, Demo: true}
	m.c.Company.ID = 1
	m.c.Branch = models.Branch{Name: town, Lat: new(townLat), Lon: new(townLon), Units: units.US, BuildingCode: "irc_2021", ClimateZone: "6B", ClimateStation: climateStation, DesignRain: new(127.0),
		SeasonFrom: "04-15", SeasonTo: "11-15", LabourRate: 68 * units.Dollar, TaxRate: .06, DiscountRate: .04, TurnoverRate: .06, CostGrowth: .03, FiscalYearStart: 1,
		TimeZone: timeZone, Language: "en", Currency: "$", VisitsPerDay: 8, CheckupEveryMths: 12, StormLookDays: 14,
		NeighbourRadius: 300 * units.Metre, StandingLagYears: 2}
	m.c.Branch.ID = 1
}

// The coverings by their number in the catalogue.
const (
	strip25 = iota + 1
	laminated30
	laminated50
	oldInterlocking
	oldOrganic
	ribbedMetal
	splitShake
	lowSlope
	unknownCovering
)

// The terms by their number in the catalogue.
const (
	work5 = iota + 1
	work10
	material25
	material30
	material50
	materialMetal
	assumed5
)

// materialOf gives the maker's terms of what we lay.
var materialOf = map[int8]int64{strip25: material25, laminated30: material30, laminated50: material50, ribbedMetal: materialMetal}

// registrationDays is how long after closing a job its material can be
// registered with the maker.
const registrationDays = 60

// catalogues makes the coverings, the terms and the crews. Bundles, shingles
// and nails are those of takeoff's published counts: a metric shingle lies 65
// to the square and about 22 to the bundle, a 36 in strip 80 and 26 to 27.
// Prices a square are invented.
func (m *maker) catalogues() {
	since := func(year int) units.Date { return units.NewDate(year, time.December, 31) }
	price := func(dollars int) units.Money { return units.Money(dollars) * units.Dollar }
	for _, c := range []models.Covering{
		{Key: "strip-25", Name: "Three-tab strip, 25 years", Family: "asphalt_strip", BundlesPerSquare: new(3.0), ShinglesPerBundle: new(27.0),
			NailsPerShingle: new(4), PricePerSquare: price(510), MaterialTermMonths: new(300)},
		{Key: "laminated-30", Name: "Laminated, 30 years", Family: "asphalt_laminated", BundlesPerSquare: new(3.0), ShinglesPerBundle: new(22.0),
			NailsPerShingle: new(4), PricePerSquare: price(595), MaterialTermMonths: new(360)},
		{Key: "laminated-50", Name: "Laminated, heavy, 50 years", Family: "asphalt_laminated", BundlesPerSquare: new(4.0), ShinglesPerBundle: new(17.0),
			NailsPerShingle: new(6), PricePerSquare: price(745), MaterialTermMonths: new(600)},
		{Key: "interlocking-old", Name: "Interlocking, as laid until the nineties", Family: "asphalt_interlocking", EndedOn: since(1999)},
		{Key: "organic-old", Name: "Strip on organic felt, as laid until 2000", Family: "asphalt_organic", EndedOn: since(2000)},
		{Key: "ribbed-metal", Name: "Ribbed metal panel", Family: "metal", PricePerSquare: price(1180), MaterialTermMonths: new(480)},
		{Key: "split-shake", Name: "Split wood shake", Family: "wood_shake", EndedOn: since(2008)},
		{Key: "membrane", Name: "Membrane for low slopes", Family: "low_slope_membrane", PricePerSquare: price(890), MaterialTermMonths: new(240)},
		{Key: "not-known", Name: "Not known", Family: "unknown"},
	} {
		add(&m.c.Coverings, c)
	}

	ours := models.JSON[models.Condition]{{Kind: "paid_in_full", Days: 60}, {Kind: "yearly_checkup", Days: 60}, {Kind: "only_our_people"},
		{Kind: "notice_days", Days: 30}}
	makers := models.JSON[models.Condition]{{Kind: "registered", Days: registrationDays}, {Kind: "ventilation_to_code"}, {Kind: "notice_days", Days: 60}}
	const work = "We put right at our own cost what leaks or comes loose because of how we laid the roof. "
	const material = "The maker stands for faults of the shingles themselves. "
	for _, t := range []models.Terms{
		{Key: "work-5", Name: "Our work, 5 years", Kind: "workmanship", TermMonths: 60, FullMonths: 60, ShareMethod: "none", Labour: true,
			Material: true, TearOff: true, Disposal: true, Transfer: "once", Conditions: ours[:1:1],
			Wording: work + "This holds for 5 years and for one buyer of the house."},
		{Key: "work-10", Name: "Our work, 10 years", Kind: "workmanship", TermMonths: 120, FullMonths: 120, ShareMethod: "none", Labour: true,
			Material: true, TearOff: true, Disposal: true, Transfer: "by_notice", NoticeDays: 60, Conditions: ours,
			Wording: work + "This holds for 10 years when roof and gutters are checked every year, and for a buyer of whom we are told in 60 days."},
		{Key: "strip-25", Name: "Strip, 25 years in steps", Kind: "material", TermMonths: 300, FullMonths: 60, ShareMethod: "steps",
			Steps:    models.JSON[models.Step]{{FromMonth: 60, Share: .8}, {FromMonth: 120, Share: .5}, {FromMonth: 180, Share: .3}, {FromMonth: 240, Share: .15}},
			Material: true, Transfer: "never", Conditions: makers,
			Wording: material + "In full for 5 years, then a falling share of the price of the shingles."},
		{Key: "laminated-30", Name: "Laminated, 30 years, 10 in full", Kind: "material", TermMonths: 360, FullMonths: 120, ShareMethod: "prorated_span",
			Labour: false, Material: true, Transfer: "by_notice", NoticeDays: 60, AfterTransfer: new(120), Conditions: makers,
			Wording: material + "In full for 10 years, then the months left of the other 20 years."},
		{Key: "laminated-50", Name: "Laminated, heavy, 50 years, 15 in full", Kind: "material", TermMonths: 600, FullMonths: 180, ShareMethod: "whole_term",
			Labour: true, Material: true, Transfer: "by_notice", NoticeDays: 60, AfterTransfer: new(240), Conditions: makers,
			Wording: material + "In full, with the labour, for 15 years, then the months left of all 50 years."},
		{Key: "metal-40", Name: "Metal, 40 years against rust", Kind: "material", TermMonths: 480, FullMonths: 480, ShareMethod: "none", Material: true,
			Transfer: "always", Cap: new(12_000 * units.Dollar), Conditions: makers[:1:1], Wording: "The maker stands for rust through the panel."},
		{Key: "assumed-5", Name: "Assumed from another roofer, 5 years", Kind: "assumed", TermMonths: 60, FullMonths: 60, ShareMethod: "none",
			Labour: true, Material: false, Transfer: "never", Cap: new(2_500 * units.Dollar), Conditions: ours[3:4:4],
			Wording: "We took on this promise when the roofer who gave it retired: labour only, up to the cap."},
	} {
		t.Title = "limited"
		t.Rights = "This promise gives you certain rights, and the law where you live may give you others."
		switch t.Kind {
		case "material":
			t.Remedy = "The maker gives new shingles for those that are faulty, or the share of their price that the table says."
			t.HowToClaim = "Tell us in writing what you saw and when. We look, take a sample and send the claim to the maker."
			t.Excluded = "Wear, moss, hail, wind above what the wrapper says, and what comes of too little ventilation."
			if t.Key == "metal-40" {
				t.Remedy = "The maker gives new panels for those that rust through."
				t.Excluded = "Scratches, cut edges that were not sealed, colour that fades, and salt in the air."
			}
		default:
			t.Remedy = "We come, look and put right what we did wrong, and bear the parts of the cost that are named here."
			t.HowToClaim = "Ring or write to the office. We ring back within a day, keep the water out, look, and tell you in writing what we found."
			t.Excluded = "Hail, ice dams, what others did on the roof, and damage inside the house."
		}
		add(&m.c.Terms, t)
	}
	m.crews()
}

// longer is the day since which the company has offered 10 years for its work
// beside the 5.
func (m *maker) longer() units.Date { return units.NewDate(m.Today.Year()-4, time.December, 31) }

// habitEnds is the day on which the crew with the habit of lapping a
// penetration's flange by a third only was shown the roofs that came of it.
func (m *maker) habitEnds() units.Date { return m.Today.AddYears(-5) }

// habitCrew is the number of that crew.
const habitCrew = 2

// crews makes the crews with the people that have worked in them. A crew lays
// about a hundred roofs a year at most, so that a larger company has more.
func (m *maker) crews() {
	crews := max(3, (m.Roofs+1399)/1400)
	names := []string{"Holtbeck crew", "Yard crew", "Creek crew"}
	for i := range crews {
		d := m.dice.turn(forCrews, i)
		name := "Crew " + strconv.Itoa(i+1)
		if i < len(names) {
			name = names[i]
		}
		id := add(&m.c.Crews, models.Crew{Name: name})
		for seat := range 4 {
			from := m.crewBegins(i)
			if seat == 3 {
				from = from.AddDays(d.between(300, 1200))
			}
			for from < m.Today {
				member := models.CrewMember{CrewID: id, Name: d.fullName(), FromOn: from}
				stays := 900 + int(d.ExpFloat64()*1500)
				if seat == 0 {
					stays += 2500 // a foreman
				}
				if from.AddDays(stays) < m.Today.AddDays(-120) {
					member.ToOn = from.AddDays(stays)
				}
				add(&m.c.CrewMembers, member)
				if member.ToOn == 0 {
					break
				}
				from = member.ToOn.AddDays(1)
				if seat != 0 {
					from = nextSeasonDay(from.AddDays(d.between(0, 60)))
				}
			}
		}
	}
	habit := int64(habitCrew)
	add(&m.c.Practices, models.Practice{What: "Every flange lapped two thirds, looked at before cover-up", FromOn: m.habitEnds(), CrewID: &habit,
		Causes: models.JSON[string]{"lap"}, Notes: "Shown on the roofs that had leaked."})
	add(&m.c.Practices, models.Practice{What: "Six nails a shingle on every slope that faces the wind", FromOn: seasonStart(m.Today.Year() - 2),
		Causes: models.JSON[string]{"nail", "wind"}})
}

// crewBegins is when the i-th crew was set up; the third came with growth.
func (m *maker) crewBegins(i int) units.Date {
	first := seasonStart(m.begins.Year())
	switch i {
	case 0, 1:
		return first
	case 2:
		return seasonStart(m.begins.Year() + 5)
	}
	return first.AddYears(i % 5)
}

// foreman gives who led a crew on a day: its first member of that time.
func (m *maker) foreman(crew int64, day units.Date) string {
	for i := range m.c.CrewMembers {
		p := &m.c.CrewMembers[i]
		if p.CrewID == crew && p.FromOn <= day && (p.ToOn == 0 || p.ToOn >= day) {
			return p.Name
		}
	}
	return ""
}
