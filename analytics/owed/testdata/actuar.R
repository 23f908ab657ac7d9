# The figures of TestAgainstActuar: compound distributions on a lattice by the
# recursion of the R package actuar. Run: Rscript actuar.R
library(actuar)
options(digits = 17)
fx <- c(0, .15, .2, .25, .125, .075, .05, .05, .05, .025, .025)
show <- function(name, F, at) {
  cat(name, "\n")
  for (x in at) cat(sprintf("{%d, %.17g},\n", x, F(x)))
}
at <- c(0, 5, 20, 50, 100, 150, 200, 300)
show("poisson", aggregateDist("recursive", model.freq = "poisson", model.sev = fx, lambda = 25, maxit = 2000, tol = 1e-14), at)
show("negative binomial", aggregateDist("recursive", model.freq = "negative binomial", model.sev = fx, size = 4, prob = 4 / 29, maxit = 4000, tol = 1e-14), at)
ln <- discretize(plnorm(x, 1, .8), from = 0, to = 2000, step = 1, method = "unbiased", lev = levlnorm(x, 1, .8))
show("log-normal", aggregateDist("recursive", model.freq = "poisson", model.sev = ln, lambda = 12, maxit = 4000, tol = 1e-14), at)
