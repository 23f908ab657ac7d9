package server

import "overhang/models"

func (s *Server) healthRoutes() []Route {
	return []Route{{Method: "GET", Path: "/healthz", Need: Bare, Handle: s.health}}
}

// health says whether the database answers, and nothing else.
func (s *Server) health(r *Request) error {
	// A database without a company yet answers too.
	if _, err := s.service.Settings(r.ctx); err != nil && models.CodeOf(err) != models.NotFound {
		return err
	}
	r.fiber.Type("txt", "utf-8")
	return r.fiber.SendString("ok\n")
}
