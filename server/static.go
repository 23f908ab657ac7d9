package server

import (
	"github.com/gofiber/fiber/v2"

	"overhang/models"
	"overhang/views"
)

func (s *Server) staticRoutes() []Route {
	example, err := views.StaticPath("app.css")
	if err != nil {
		panic(err) // it is embedded
	}
	return []Route{{Method: "GET", Path: "/static/*", Need: Bare, Example: example, Handle: s.sendStatic}}
}

// sendStatic looks a whole path up among those that exist, so there is no folder
// to climb out of.
func (s *Server) sendStatic(r *Request) error {
	asset, found := views.OpenStatic(r.fiber.Path())
	if !found {
		return models.Errorf(models.NotFound, "There is no such file.")
	}
	r.fiber.Set(fiber.HeaderContentType, asset.Type)
	r.fiber.Set(fiber.HeaderCacheControl, views.StaticCaching)
	r.fiber.Set(fiber.HeaderVary, fiber.HeaderAcceptEncoding)
	if asset.Gzip != nil && r.fiber.Get(fiber.HeaderAcceptEncoding) != "" && r.fiber.AcceptsEncodings("gzip") == "gzip" {
		r.fiber.Set(fiber.HeaderContentEncoding, "gzip")
		return r.fiber.Send(asset.Gzip)
	}
	return r.fiber.Send(asset.Content)
}
