package main

import (
	"fmt"
	"runtime/debug"

	"overhang/analytics/lifespan"
)

type versionCommand struct{}

// Run prints the version, the revision it was built from, and the version of
// the model of years left, which is kept with every estimate.
func (versionCommand) Run(p *program) error {
	revision, dirty := "unknown", ""
	info, found := debug.ReadBuildInfo()
	if found {
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision":
				revision = s.Value
			case s.Key == "vcs.modified" && s.Value == "true":
				dirty = " with changes"
			}
		}
	}
	_, err := fmt.Fprintf(p.out, "overhang %s (revision %s%s, %s)\nmodel of years left: %s\n",
		info.Main.Version, revision, dirty, info.GoVersion, lifespan.ModelVersion)
	return err
}
