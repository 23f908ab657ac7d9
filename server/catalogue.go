package server

import (
	"fmt"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/server/service"
	"overhang/views"
)

func (s *Server) catalogueRoutes() []Route {
	return []Route{
		{Method: "GET", Path: "/records/coverings", Need: service.SeeRecords, Handle: s.listCoverings},
		{Method: "POST", Path: "/records/coverings", Need: service.EditCatalogues, Handle: s.saveCovering},
		{Method: "GET", Path: "/records/coverings/new", Need: service.EditCatalogues, Handle: s.newCovering},
		{Method: "GET", Path: "/records/coverings/:id", Need: service.EditCatalogues, Example: "/records/coverings/1", Handle: s.editCovering},
		{Method: "POST", Path: "/records/coverings/:id", Need: service.EditCatalogues, Example: "/records/coverings/1", Handle: s.saveCovering},
		{Method: "GET", Path: "/records/terms", Need: service.SeeRecords, Handle: s.listTerms},
		{Method: "POST", Path: "/records/terms", Need: service.EditCatalogues, Handle: s.saveTerms},
		{Method: "GET", Path: "/records/terms/new", Need: service.EditCatalogues, Handle: s.newTerms},
		{Method: "GET", Path: "/records/terms/:id", Need: service.SeeRecords, Example: "/records/terms/1", Handle: s.showTerms},
		{Method: "POST", Path: "/records/terms/:id", Need: service.EditCatalogues, Example: "/records/terms/1", Handle: s.saveTerms},
	}
}

func (s *Server) listCoverings(r *Request) error {
	coverings, err := s.service.Coverings(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	return r.Render(views.NewCoveringsPage(r.Frame(views.Records), coverings, r.Actor.May(service.SeeMoney), r.Actor.May(service.EditCatalogues)))
}

func coveringPage(r *Request, c *models.Covering) views.CoveringPage {
	return views.NewCoveringPage(r.Frame(views.Records), c, r.Actor.May(service.SeeMoney))
}

func (s *Server) newCovering(r *Request) error { return r.Render(coveringPage(r, &models.Covering{})) }

func (s *Server) editCovering(r *Request) error {
	covering, err := s.coveringOf(r)
	if err != nil {
		return err
	}
	return r.Render(coveringPage(r, covering))
}

// coveringOf reads the covering that the path names, or makes a new one when it
// names none.
func (s *Server) coveringOf(r *Request) (*models.Covering, error) {
	if r.Param("id") == "" {
		return &models.Covering{}, nil
	}
	id, err := r.ID("id")
	if err != nil {
		return nil, err
	}
	return s.service.Covering(r.ctx, r.Actor, id)
}

func (s *Server) saveCovering(r *Request) error {
	kept, err := s.coveringOf(r)
	if err != nil {
		return err
	}
	f, c := r.Form(), *kept
	c.Version = f.Version()
	c.Key, c.Name, c.Family = f.Text("key"), f.Text("name"), f.Text("family")
	c.BundlesPerSquare, c.ShinglesPerBundle = f.Number("bundles_per_square"), f.Number("shingles_per_bundle")
	c.NailsPerShingle, c.MaterialTermMonths = f.Int("nails_per_shingle"), f.Int("material_term_months")
	c.EndedOn = f.Day("ended_on")
	if r.Actor.May(service.SeeMoney) { // who does not see the price leaves it as it is
		c.PricePerSquare = 0
		if price := f.Money("price_per_square"); price != nil {
			c.PricePerSquare = *price
		}
	}
	err = f.Err()
	if err == nil {
		err = s.service.SaveCovering(r.ctx, r.Actor, &c)
	}
	if err != nil {
		page := coveringPage(r, kept)
		return r.Refused(page, page.Form, err)
	}
	return r.Redirect("/records/coverings", views.Say("catalogue.saved", "name", c.Name))
}

func (s *Server) listTerms(r *Request) error {
	all, err := s.service.AllTerms(r.ctx, r.Actor)
	if err != nil {
		return err
	}
	return r.Render(views.NewTermsListPage(r.Frame(views.Records), all, r.Actor.May(service.EditCatalogues)))
}

func (s *Server) termsPage(r *Request, t *models.Terms) (views.TermsPage, error) {
	resting, err := s.service.RestingOn(r.ctx, r.Actor, t.ID)
	if err != nil {
		return views.TermsPage{}, err
	}
	var kinds []views.ConditionKind
	for _, k := range promise.ConditionKinds() {
		if !k.FromTransfer {
			kinds = append(kinds, views.ConditionKind{Key: k.Key, Sentence: k.Sentence, HowToShow: k.HowToShow, DaysMean: k.DaysMean, NeedsDays: k.NeedsDays})
		}
	}
	p := views.NewTermsPage(r.Frame(views.Records), t, kinds, shares(t), resting, r.Actor.May(service.SeeMoney), r.Actor.May(service.EditCatalogues))
	here := "/records/terms/new"
	if t.ID != 0 {
		here = fmt.Sprintf("/records/terms/%d", t.ID)
	}
	typed := r.Here().Query
	p.Example = views.NewTermsExample(p.Frame, here, typed, exampleClaim(r, t, typed))
	return p, nil
}

// exampleClaim says what a claim would pay under the terms as they are typed, or
// as they are kept where nothing is.
func exampleClaim(r *Request, kept *models.Terms, typed url.Values) []views.Phrase {
	terms, money := *kept, r.Actor.May(service.SeeMoney)
	f := &Form{values: typed, system: r.Units}
	if typed.Has("term_months") {
		readTerms(f, &terms, money)
	} else if kept.ID == 0 {
		return nil
	}
	months, cost := 200, promise.Cost{MaterialCents: 9_000 * units.Dollar}
	if typed.Has("example_months") {
		cost = promise.Cost{}
		if m := f.Int("example_months"); m != nil {
			months = *m
		}
		for name, cents := range map[string]*units.Money{"example_labour": &cost.LabourCents, "example_material": &cost.MaterialCents,
			"example_tear_off": &cost.TearOffCents, "example_disposal": &cost.DisposalCents} {
			if amount := f.Money(name); amount != nil {
				*cents = *amount
			}
		}
	}
	if len(f.wrong) > 0 {
		return []views.Phrase{views.Say("terms.example.not", "rule", f.wrong[0].Rule)}
	}
	of := portfolio.Terms(&terms)
	if err := of.Validate(); err != nil {
		return []views.Phrase{views.Say("terms.example.not", "rule", err.Error())}
	}
	if err := cost.Validate(); err != nil {
		return []views.Phrase{views.Say("terms.example.not", "rule", err.Error())}
	}
	if !money { // who does not see the caps is not told them by an example
		of.CapCents, of.ClaimCapCents = 0, 0
	}
	share := of.Share(months)
	if share == 0 {
		return []views.Phrase{views.Say("terms.example.nothing", "months", months)}
	}
	_, most := of.Left(0, nil)
	pays := of.Claim(cost, share, most)
	said := []views.Phrase{views.Say("terms.example.pays", "months", months, "cost", views.Cents(cost.LabourCents+cost.MaterialCents+cost.TearOffCents+cost.DisposalCents),
		"pays", views.Cents(pays), "covered", views.Cents(of.Covered(cost)), "share", fmt.Sprintf("%.1f", share*100))}
	switch {
	case !money:
		said = append(said, views.Say("terms.example.uncapped"))
	case pays < of.Covered(cost).Times(share):
		said = append(said, views.Say("terms.example.capped"))
	case of.CapOfPrice != nil:
		said = append(said, views.Say("terms.example.price"))
	}
	return said
}

// shares gives what share is promised from which month on, at most once a year
// and where it jumps.
func shares(t *models.Terms) []models.Step {
	terms := portfolio.Terms(t)
	months := []int{0, t.FullMonths, t.TermMonths}
	for _, s := range t.Steps {
		months = append(months, s.FromMonth)
	}
	for m := t.FullMonths + 12; t.ShareMethod != "steps" && m < t.TermMonths; m += 12 {
		months = append(months, m)
	}
	slices.Sort(months)
	var out []models.Step
	for _, m := range slices.Compact(months) {
		if share := terms.Share(m); len(out) == 0 || share != out[len(out)-1].Share {
			out = append(out, models.Step{FromMonth: m, Share: share})
		}
	}
	return out
}

// termsOf reads the terms that the path names, or makes new ones when it names
// none.
func (s *Server) termsOf(r *Request) (*models.Terms, error) {
	if r.Param("id") == "" {
		return &models.Terms{}, nil
	}
	id, err := r.ID("id")
	if err != nil {
		return nil, err
	}
	return s.service.Terms(r.ctx, r.Actor, id)
}

func (s *Server) newTerms(r *Request) error { return s.renderTerms(r, &models.Terms{}) }

func (s *Server) showTerms(r *Request) error {
	terms, err := s.termsOf(r)
	if err != nil {
		return err
	}
	return s.renderTerms(r, terms)
}

func (s *Server) renderTerms(r *Request, terms *models.Terms) error {
	page, err := s.termsPage(r, terms)
	if err != nil {
		return err
	}
	return r.Render(page)
}

func (s *Server) saveTerms(r *Request) error {
	kept, err := s.termsOf(r)
	if err != nil {
		return err
	}
	f, t := r.Form(), *kept
	readTerms(f, &t, r.Actor.May(service.SeeMoney))
	if err = f.Err(); err == nil {
		if kept.ID != 0 && f.Ticked("anew") {
			err = s.service.SaveTermsAnew(r.ctx, r.Actor, kept.ID, &t)
		} else {
			err = s.service.SaveTerms(r.ctx, r.Actor, &t)
		}
	}
	if err != nil {
		page, unread := s.termsPage(r, kept)
		if unread != nil {
			return unread
		}
		return r.Refused(page, page.Form, besideTicks(err))
	}
	return r.Redirect(fmt.Sprintf("/records/terms/%d", t.ID), views.Say("catalogue.saved", "name", t.Name))
}

// besideTicks puts a rule about what terms pay for beside its boxes, once.
func besideTicks(err error) error {
	e := publicError(err)
	if e == nil {
		return err
	}
	out := *e
	out.Fields = nil
	for _, f := range e.Fields {
		if slices.Contains(views.Covers, f.Field) {
			f.Field, f.Value = "answers_for", ""
		}
		if !slices.Contains(out.Fields, f) {
			out.Fields = append(out.Fields, f)
		}
	}
	return &out
}

func readTerms(f *Form, t *models.Terms, money bool) {
	whole := func(name string) int {
		if v := f.Int(name); v != nil {
			return *v
		}
		return 0
	}
	t.Version = f.Version()
	t.Key, t.Name, t.Kind = f.Text("key"), f.Text("name"), f.Text("kind")
	t.TermMonths, t.FullMonths, t.ShareMethod = whole("term_months"), whole("full_months"), f.Text("share_method")
	t.Steps = readSteps(f, t.Steps)
	answers := f.Texts("answers_for")
	t.Labour, t.Material = slices.Contains(answers, "labour"), slices.Contains(answers, "material")
	t.TearOff, t.Disposal = slices.Contains(answers, "tear_off"), slices.Contains(answers, "disposal")
	if money { // who does not see the cap leaves it as it is
		t.Cap, t.ClaimCap = f.Money("cap"), f.Money("claim_cap")
	}
	kept := t.CapOfPrice
	t.CapOfPrice = nil
	if hundredths := f.Number("cap_of_price"); hundredths != nil {
		share := *hundredths / 100
		if kept != nil {
			share = asKept(share, *kept)
		}
		t.CapOfPrice = &share
	}
	t.Title, t.Remedy, t.Excluded, t.HowToClaim, t.Rights = f.Text("title"), f.Text("remedy"), f.Text("excluded"), f.Text("how_to_claim"), f.Text("rights")
	t.Transfer, t.NoticeDays, t.AfterTransfer = f.Text("transfer"), whole("notice_days"), f.Int("after_transfer")
	t.Conditions = readConditions(f, t.Conditions)
	t.Wording, t.EndedOn = f.Text("wording"), f.Day("ended_on")
}

var stepLine = regexp.MustCompile(`^(\d{1,5})\s*[:;,\s]\s*(\d{1,3}(?:\.\d+)?)\s*%?$`)

// asKept gives the kept share where the typed one is what a form shows of it: a
// form that is sent as it stands changes nothing, and a third stays a third.
func asKept(typed, kept float64) float64 {
	if math.Abs(typed-kept) < 0.6e-6 { // forms show a hundredth to four places
		return kept
	}
	return typed
}

// readSteps reads a step a line, such as 120: 60%.
func readSteps(f *Form, kept []models.Step) models.JSON[models.Step] {
	var steps models.JSON[models.Step]
	for i, line := range strings.Split(f.Text("steps"), "\n") {
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		parts := stepLine.FindStringSubmatch(line)
		if parts == nil {
			f.Refuse("steps", "line %d: write the month, a colon and the share in hundredths, such as 120: 60%%", i+1)
			continue
		}
		month, _ := strconv.Atoi(parts[1])
		hundredths, _ := strconv.ParseFloat(parts[2], 64)
		step := models.Step{FromMonth: month, Share: hundredths / 100}
		for _, k := range kept {
			if k.FromMonth == month {
				step.Share = asKept(step.Share, k.Share)
			}
		}
		steps = append(steps, step)
	}
	return steps
}

// readConditions reads which conditions are ticked, with their days; a kind whose
// days are not asked for keeps them.
func readConditions(f *Form, kept []models.Condition) models.JSON[models.Condition] {
	var conditions models.JSON[models.Condition]
	ticked := f.Texts("conditions")
	for _, k := range promise.ConditionKinds() {
		if k.FromTransfer {
			continue
		}
		name := views.ConditionDays(k.Key)
		days := f.Int(name)
		is := slices.Contains(ticked, k.Key)
		switch {
		case !is && days != nil:
			f.Refuse(name, "tick the condition above, or leave its days empty")
		case is && k.NeedsDays && days == nil && f.Text(name) == "":
			f.Refuse(name, "is needed for this condition")
		case days != nil && (*days < 1 || *days > 3650):
			f.Refuse(name, "must lie between 1 and 3650")
		}
		if is {
			c := models.Condition{Kind: k.Key}
			for _, was := range kept {
				if was.Kind == k.Key && k.DaysMean == "" {
					c.Days = was.Days
				}
			}
			if days != nil {
				c.Days = *days
			}
			conditions = append(conditions, c)
		}
	}
	return conditions
}
