# Runs again, in R, the figures of the tests of fixtures in lifespan_test.go.
#   apt-get install r-base-core     (Debian 12: R 4.2.2)
#   Rscript fixtures.R
# It prints figures and writes nothing.
options(digits = 14)

# a straight fall y = 100 - theta t, error 4, theta normal(3.5, 1), worn out at 40: T = 60 / theta
t <- c(5, 8, 10); y <- c(84, 70, 66)
precision <- 1 + sum(t^2) / 16; mean <- (3.5 + sum(t * (100 - y)) / 16) / precision; sd <- 1 / sqrt(precision)
cat("straight fall: mean", mean, "sd", sd, "\n")
cat("  P(T <= 15, 17, 20)", pnorm(60 / c(15, 17, 20), mean, sd, lower.tail = FALSE), "\n")
cat("  10, 50, 90 % points", 60 / qnorm(c(.9, .5, .1), mean, sd), "\n")
marginal <- integrate(function(th) sapply(th, function(th) dnorm(th, 3.5) * prod(dnorm(y, 100 - th * t, 4))), 0, 8, rel.tol = 1e-12)
cat("  log marginal likelihood", log(marginal$value), "\n")

# Weibull(4, 22), stands at 15, readings 62 at 12 and 50 at 15 with error 8 on 100 (1 - (a / T)^1.5)
f <- function(T) dweibull(T, 4, 22) * dnorm(62, 100 * (1 - (12 / T)^1.5), 8) * dnorm(50, 100 * (1 - (15 / T)^1.5), 8)
I <- function(g, to = 80) integrate(g, 15, to, rel.tol = 1e-12)$value
Z <- I(f); m <- I(function(T) T * f(T)) / Z
q <- function(p, f, Z) uniroot(function(x) I(f, x) / Z - p, c(15.01, 60), tol = 1e-11)$root
cat("two readings: integral", Z, "mean", m, "sd", sqrt(I(function(T) (T - m)^2 * f(T)) / Z), "P(T <= 20)", I(f, 20) / Z, "\n")
cat("  10, 50, 90 % points", q(.1, f, Z), q(.5, f, Z), q(.9, f, Z), "\n")
g <- function(T) dweibull(T, 4, 22)
S <- pweibull(15, 4, 22, lower.tail = FALSE)
cat("  without readings: mean", I(function(T) T * g(T)) / S, "median", 22 * ((15 / 22)^4 + log(2))^.25, "\n")

# remaining life of a Weibull
for (c in list(c(2.5, 22, 15), c(4, 25, 18), c(1.5, 30, 0), c(1, 20, 10))) {
  k <- c[1]; eta <- c[2]; a <- c[3]; H <- (a / eta)^k
  left <- eta * (H - log(1 - c(.1, .5, .9)))^(1 / k) - a
  mean <- integrate(function(t) exp(H - (t / eta)^k), a, Inf, rel.tol = 1e-12)$value
  cat("remaining life", c, ":", exp(-H), left, "mean", mean, "in 5", 1 - exp(H - ((a + 5) / eta)^k), "hazard", k / eta * (a / eta)^(k - 1), "\n")
}
