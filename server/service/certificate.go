package service

import (
	"context"

	"overhang/analytics/portfolio"
	"overhang/analytics/promise"
	"overhang/analytics/units"
	"overhang/models"
	"overhang/models/store"
)

// CertificateDraft is what a certificate is made from: the promise as it stands
// today, who gives it, and those given before, the newest
// first.
type CertificateDraft struct {
	*PromiseFile
	Company models.Company
	Given   []models.Certificate
	Points  []promise.Point // what a written warranty should say
	Shares  []promise.ShareSpan
	// FullLast is the last day when nothing ends the promise early.
	FullLast units.Date
}

// CertificateFor reads what a certificate of a warranty is made from.
func (s *Service) CertificateFor(ctx context.Context, who Actor, warrantyID int64) (*CertificateDraft, error) {
	if err := who.need(EditPromises); err != nil {
		return nil, err
	}
	f, err := s.Promise(ctx, who, warrantyID, 0)
	if err != nil {
		return nil, err
	}
	q := s.Store.Query(ctx)
	set, err := settings(q)
	if err != nil {
		return nil, err
	}
	d := &CertificateDraft{PromiseFile: f, Company: set.Company}
	if d.Given, err = store.List[models.Certificate](q, "given_on DESC, id DESC", "warranty_id = ?", warrantyID); err != nil {
		return nil, err
	}
	terms := portfolio.Terms(&f.Terms)
	until := terms.LastDay(f.Warranty.StartOn)
	if f.Judged != nil {
		until = f.Judged.Result.LastDay // sooner, where a sale or an end has cut it
	}
	d.Shares = promise.Shares(terms, f.Warranty.StartOn, 0, until)
	d.FullLast = terms.LastDay(f.Warranty.StartOn)
	paper := promise.Paper{Warrantor: f.Warranty.OwedBy, Title: f.Terms.Title, StartSaid: !f.Warranty.StartOn.IsZero(), Remedy: f.Terms.Remedy,
		Excluded: f.Terms.Excluded, Claim: f.Terms.HowToClaim, Rights: f.Terms.Rights}
	if f.Warranty.OwedBy == "us" {
		paper.Warrantor, paper.Address = d.Company.Name, d.Company.Street
	}
	d.Points = promise.Disclosure(terms, paper)
	return d, nil
}

// GiveCertificate keeps what a homeowner was given, as it read.
func (s *Service) GiveCertificate(ctx context.Context, who Actor, c *models.Certificate) error {
	return s.add(ctx, who, EditPromises, c)
}

// Certificate reads one certificate as it was given, with its warranty.
func (s *Service) Certificate(ctx context.Context, who Actor, id int64) (*models.Certificate, *models.Warranty, error) {
	if err := who.need(EditPromises); err != nil {
		return nil, nil, err
	}
	q := s.Store.Query(ctx)
	c, err := store.Get[models.Certificate](q, id)
	if err != nil {
		return nil, nil, err
	}
	w, err := store.Get[models.Warranty](q, c.WarrantyID)
	return c, w, err
}
