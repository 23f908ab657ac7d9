package server

import (
	"slices"
	"strconv"

	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) settingsRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/records/settings", Need: service.EditSettings, Handle: s.showSettings},
		{Method: "POST", Path: "/records/settings", Need: service.EditSettings, Handle: s.saveSettings},
	}
}

func (s *Server) settingsPage(r *Request) views.SettingsPage {
	return views.NewSettingsPage(r.Frame(views.Records), r.Settings.Company, r.Settings.Branch, s.renderer.Languages(), stations())
}

// stations are the climates that a branch can choose from.
func stations() []views.Option {
	var out []views.Option
	for _, p := range service.ClimateStations() {
		out = append(out, views.Option{Value: p.Key, Label: views.Plain(p.Name)})
	}
	return out
}

func (s *Server) showSettings(r *Request) error { return r.Render(s.settingsPage(r)) }

func (s *Server) saveSettings(r *Request) error {
	set := r.Settings
	readSettings(r.Form(), &set)
	err := r.Form().Err()
	if err == nil && r.Form().Version() != views.SettingsVersion(r.Settings.Company, r.Settings.Branch) {
		err = models.Errorf(models.Conflict,
			"Somebody else changed the settings while you had them open. What you typed is still here: compare it with what is kept now, then save again.")
	}
	if err == nil {
		err = s.service.SaveSettings(r.ctx, r.Actor, &set)
	}
	if err != nil {
		page := s.settingsPage(r)
		return r.Refused(page, page.Form, err)
	}
	return r.Redirect("/records/settings", views.Say("settings.saved"))
}

func readSettings(f *Form, set *service.Settings) {
	whole := func(name string) int {
		if v := f.Int(name); v != nil {
			return *v
		}
		return 0
	}
	share := func(name string, most float64) float64 {
		v := f.Number(name)
		if v == nil {
			return 0
		}
		if *v < 0 || *v > most {
			f.Refuse(name, "must lie between 0 and %g", most)
		}
		return *v / 100
	}
	c, b := &set.Company, &set.Branch
	c.Name, c.Street, c.Town, c.Phone, c.Email = f.Text("name"), f.Text("street"), f.Text("town"), f.Text("phone"), f.Text("email")
	c.RingBackHours, c.LookDays, c.RepairDays = whole("ring_back_hours"), whole("look_days"), whole("repair_days")
	// The rain and the radius were typed in the units that the form was shown in.
	if f.Text("design_rain") != views.TypedRain(*b) {
		b.DesignRain = views.ReadRain(*b, f.Number("design_rain"))
	}
	if f.Text("neighbour_radius") != views.TypedReach(b.NeighbourRadius, b.Units) {
		b.NeighbourRadius = 0
		if v := f.Length("neighbour_radius", units.Foot, units.Metre); v != nil {
			b.NeighbourRadius = *v
		}
	}
	b.Name, b.Units, b.Language, b.Currency = f.Text("branch_name"), units.System(f.Text("units")), f.Text("language"), f.Text("currency")
	b.TimeZone, b.Lat, b.Lon = f.Text("time_zone"), f.Number("lat"), f.Number("lon")
	ticked := f.Texts("readings")
	for _, reading := range views.Readings {
		*reading.At(b) = slices.Contains(ticked, reading.Column)
	}
	b.BuildingCode, b.ClimateZone, b.ClimateStation = f.Text("building_code"), f.Text("climate_zone"), f.Text("climate_station")
	b.SeasonFrom, b.SeasonTo = f.Text("season_from"), f.Text("season_to")
	b.VisitsPerDay, b.CheckupEveryMths, b.StormLookDays = whole("visits_per_day"), whole("checkup_every_mths"), whole("storm_look_days")
	b.LabourRate = 0
	if v := f.Money("labour_rate"); v != nil {
		b.LabourRate = *v
	}
	b.TaxRate, b.DiscountRate = share("tax_rate", 50), share("discount_rate", 30)
	b.CostGrowth, b.TurnoverRate = share("cost_growth", 30), share("turnover_rate", 50)
	b.FiscalYearStart, _ = strconv.Atoi(f.Text("fiscal_year_start"))
	b.StandingLagYears = 0
	if v := f.Number("standing_lag_years"); v != nil {
		b.StandingLagYears = *v
	} else if f.Text("standing_lag_years") == "" {
		f.Refuse("standing_lag_years", "is needed; write 0 when a worn-out covering is replaced at once")
	}
}
