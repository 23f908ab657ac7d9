package main

import (
	"time"

	"github.com/schollz/progressbar/v3"
)

// progress gives a function that draws how far a long step has come, on a
// terminal; in a pipe it stays quiet.
func (p *program) progress(step string) func(done, total int) {
	if !p.onTerminal() {
		return func(int, int) {}
	}
	var bar *progressbar.ProgressBar
	return func(done, total int) {
		if bar == nil {
			bar = progressbar.NewOptions(total, progressbar.OptionSetWriter(p.err), progressbar.OptionSetDescription(step),
				progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), progressbar.OptionShowCount())
		}
		bar.ChangeMax(total)
		_ = bar.Set(done) // a bar that cannot be drawn must not stop the work
	}
}
