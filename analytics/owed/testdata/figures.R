# Runs again, in R, figures of reference_test.go and owed_test.go.
#   apt-get install r-base-core r-cran-actuar     (Debian 12: R 4.2.2, actuar 3.3-2)
#   Rscript figures.R
# It prints figures and writes nothing.
library(actuar)
options(digits = 12)

# pumps, Gaver and O'Muircheartaigh 1987: the prior by maximum likelihood, then not known
x <- c(5, 1, 5, 14, 3, 19, 1, 1, 4, 22)
t <- c(94.320, 15.720, 62.880, 125.760, 5.240, 31.440, 1.048, 1.048, 2.096, 10.480)
minus <- function(p) -sum(dnbinom(x, size = exp(p[1]), prob = exp(p[2]) / (exp(p[2]) + t), log = TRUE))
o <- optim(optim(c(0, 0), minus, control = list(reltol = 1e-14))$par, minus, method = "BFGS", control = list(reltol = 1e-15))
a <- exp(o$par[1]); b <- exp(o$par[2])
print(c(alpha = a, beta = b, mean = a / b, loglik = -o$value))
print(cbind(raw = x / t, rate = (a + x) / (b + t), sd = sqrt(a + x) / (b + t), low = qgamma(.025, a + x, b + t), high = qgamma(.975, a + x, b + t)))
g <- expand.grid(a = exp(seq(-12, 4, len = 900)), b = exp(seq(-20, 5, len = 900)))
l <- 32 + log(g$a) - g$a + .1 * log(g$b) - g$b
for (i in 1:10) l <- l + dnbinom(x[i], size = g$a, prob = g$b / (g$b + t[i]), log = TRUE)
w <- exp(l); w <- w / sum(w); m <- function(v) sum(w * v)
print(c(alpha = m(g$a), sd = sqrt(m(g$a^2) - m(g$a)^2), beta = m(g$b), sd = sqrt(m(g$b^2) - m(g$b)^2)))
print(sapply(1:10, function(i) m((g$a + x[i]) / (g$b + t[i]))))

# credibility after Buhlmann and Straub, Hachemeister 1975
data(hachemeister)
f <- cm(~state, hachemeister, ratios = ratio.1:ratio.12, weights = weight.1:weight.12)
r <- hachemeister[, 2:13]; w <- hachemeister[, 14:25]
print(cbind(claims = rowSums(w), amount = rowSums(w * r), credibility = f$cred, premium = predict(f)))
print(c(collective = f$means$portfolio, f$unbiased))

# the same on invented crews: mean costs of callbacks by year with their numbers
d <- data.frame(crew = 1:4,
  cost.1 = c(412, 655, 520, 1480), cost.2 = c(388, 701, 95, NA), cost.3 = c(530, 598, 1210, NA), cost.4 = c(467, NA, 640, NA),
  n.1 = c(6, 3, 2, 1), n.2 = c(11, 5, 1, NA), n.3 = c(9, 4, 3, NA), n.4 = c(14, NA, 2, NA))
alike <- data.frame(crew = 1:3, cost.1 = c(400, 620, 510), cost.2 = c(700, 380, 530), cost.3 = c(500, 590, 560), n.1 = c(4, 2, 3), n.2 = c(1, 3, 5), n.3 = c(2, 6, 4))
for (f in list(cm(~crew, d, ratios = cost.1:cost.4, weights = n.1:n.4), cm(~crew, alike, ratios = cost.1:cost.3, weights = n.1:n.3)))
  print(c(collective = f$means$portfolio, f$unbiased, credibility = f$cred, premium = predict(f)), digits = 14)

# a Weibull life of shape 4 with a gamma scale
u <- c(17, 19.5, 21, 16, 20); d <- c(1, 1, 0, 0, 1)
shape <- 3 + sum(d); rate <- 3 * 22^4 + sum(u^4); S <- function(v) (rate / (rate + v^4))^shape
print(c(shape, rate, mean = shape / rate, S20 = S(20), S25given20 = S(25) / S(20), median = (rate * (2^(1 / shape) - 1))^(1 / 4)))

# Loss Models: ten claims in steps of 500
fx <- c(0, .15, .2, .25, .125, .075, .05, .05, .05, .025, .025)
f <- aggregateDist("recursive", model.freq = "poisson", model.sev = fx, lambda = 10, x.scale = 500)
s <- knots(f); p <- diff(c(0, f(s)))
print(c(mean = mean(f), sd = sqrt(sum(p * (s - mean(f))^2)), TVaR(f)))
print(quantile(f, c(.5, .75, .9, .95, .99, .995)))
print(f(c(0, 2500, 5000, 10000, 15000, 20000, 30000, 40000)))
n <- aggregateDist("recursive", model.freq = "negative binomial", model.sev = fx, size = 4, prob = 4 / 14, x.scale = 500)
print(c(n(0), n(10000), quantile(n, c(.5, .9, .95, .99))))

# gamma(2, 1) on steps of a half, four ways
for (way in c("unbiased", "rounding", "lower", "upper")) {
  g <- discretize(pgamma(x, 2, 1), from = 0, to = 22, by = .5, method = way, lev = levgamma(x, 2, 1))
  f <- aggregateDist("recursive", model.freq = "poisson", model.sev = g, lambda = 10, x.scale = .5)
  cat(way, g[1:4], "mean", mean(f), "F(20)", f(20), "quantiles", quantile(f, c(.5, .9, .95, .99)), "ends", max(knots(f)), "\n")
}
normal <- aggregateDist("normal", moments = c(20, 60))
power <- aggregateDist("npower", moments = c(20, 60, 10 * 24 / 60^1.5))
print(c(quantile(normal, .95), quantile(power, c(.95, .99))))
