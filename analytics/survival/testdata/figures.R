# Runs again, in R, what the tests of package survival are checked against.
#   apt-get install r-base-core r-cran-survival     (Debian 12: R 4.2.2, survival 3.5-3)
#   Rscript figures.R                               (in this folder)
# It prints figures and writes nothing.
library(survival)
options(digits = 12)
show <- function(name, f) {
  cat("\n==", name, "\n")
  print(c(coef(f), sigma = f$scale, loglik.null = f$loglik[1], loglik = f$loglik[2], AIC = AIC(f)))
  print(sqrt(diag(vcov(f))))
}
lung <- read.csv("lung.csv"); ovarian <- read.csv("ovarian.csv"); genfan <- read.csv("genfan.csv")
nist <- read.csv("nist20.csv"); cracks <- read.csv("cracks.csv"); valve <- read.csv("valveSeat.csv")

# survreg.json
for (d in c("weibull", "lognormal")) show(paste("nist", d), survreg(Surv(t, s) ~ 1, nist, dist = d))
for (d in c("weibull", "exponential", "lognormal", "loglogistic"))
  show(paste("lung", d), survreg(Surv(time, status) ~ age + sex, lung, dist = d))
show("lung alone", survreg(Surv(time, status) ~ 1, lung))
show("lung ph.karno", survreg(Surv(time, status) ~ age + sex + ph.karno, lung))
show("ovarian alone", survreg(Surv(futime, fustat) ~ 1, ovarian))
for (d in c("weibull", "exponential")) show(paste("ovarian", d), survreg(Surv(futime, fustat) ~ ecog.ps + rx, ovarian, dist = d))
for (d in c("weibull", "exponential")) show(paste("genfan", d), survreg(Surv(hours, status) ~ 1, genfan, dist = d))
show("nist exponential", survreg(Surv(t, s) ~ 1, nist, dist = "exponential"))

# weeks of remission, Freireich and others 1963, as printed in Cox and Oakes 1984; a plus is censored
weeks <- function(text) { w <- strsplit(text, " ")[[1]]; data.frame(time = as.numeric(sub("[+]", "", w)), event = !grepl("[+]", w)) }
gehan <- rbind(cbind(weeks("6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"), control = 0),
               cbind(weeks("1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"), control = 1))
show("gehan", survreg(Surv(time, event) ~ control, gehan))
print(summary(survfit(Surv(time, event) ~ control, gehan)))
print(survdiff(Surv(time, event) ~ control, gehan))

# Device-A, Meeker and Escobar 1998, example 19.5: hours by degrees Celsius, and how many still ran at 5000
device <- function(C, hours, running) data.frame(t = c(hours, 5000), s = c(rep(1, length(hours)), 0), w = c(rep(1, length(hours)), running), K = 273.15 + C)
deviceA <- rbind(device(10, NULL, 30),
  device(40, c(1298, 1390, 3187, 3241, 3261, 3313, 4501, 4568, 4841, 4982), 90),
  device(60, c(581, 925, 1432, 1586, 2452, 2734, 2772, 4106, 4674), 11),
  device(80, c(283, 361, 515, 638, 854, 1024, 1030, 1045, 1767, 1777, 1856, 1951, 1964, 2884), 1))
f <- survreg(Surv(t, s) ~ I(11605 / K), deviceA, weights = w, dist = "lognormal")
show("Device-A log-normal", f)
print(predict(f, data.frame(K = 283.15), type = "quantile", p = c(.01, .1, .5)))
show("Device-A Weibull", survreg(Surv(t, s) ~ I(11604.518 / K), deviceA, weights = w))

# intervals
last <- max(cracks$days); left <- 167 - sum(cracks$fail)
d <- data.frame(l = c(NA, cracks$days), u = c(cracks$days, NA), w = c(cracks$fail, left))
show("cracks", survreg(Surv(l, u, type = "interval2") ~ 1, d, weights = w, dist = "weibull"))

# predictions
f <- survreg(Surv(t, s) ~ 1, nist)
print(predict(f, data.frame(1), type = "quantile", p = c(.1, .5, .9), se = TRUE))
f <- survreg(Surv(time, status) ~ age + sex, lung)
print(predict(f, data.frame(age = 60, sex = 1:2), type = "quantile", p = c(.1, .5, .9), se = TRUE))
print(predict(f, data.frame(age = 60, sex = 1:2), type = "response"))
print(concordance(f))
f <- coxph(Surv(time, status) ~ age + sex, lung)
print(summary(f)$coefficients)
print(concordance(f))
print(concordance(Surv(futime, fustat) ~ age, ovarian))

# late entry: Weibull by optim, the product limit by survfit
late <- function(name, t0, t1, d, x = NULL) {
  X <- cbind(rep(1, length(t1)), x)
  minus <- function(p) {
    k <- exp(p[1]); eta <- exp(X %*% p[-1])
    -sum(d * (log(k) - log(eta) + (k - 1) * (log(t1) - log(eta))) - (t1 / eta)^k + (t0 / eta)^k)
  }
  start <- c(0, mean(log(t1)), rep(0, ncol(X) - 1))
  o <- optim(start, minus, method = "Nelder-Mead", control = list(maxit = 5000, reltol = 1e-15))
  o <- optim(o$par, minus, method = "BFGS", control = list(reltol = 1e-15), hessian = TRUE)
  cat("\n==", name, "\n")
  print(c(k = exp(o$par[1]), location = o$par[-1], loglik = -o$value))
  print(sqrt(diag(solve(o$hessian))))
}
t0 <- c(5, 10, 0, 12, 15, 20, 0, 8, 14, 3); t1 <- c(12, 18, 25, 25, 30, 30, 9, 22, 28, 16); e <- c(1, 1, 0, 1, 0, 0, 1, 1, 1, 0)
late("toy", t0, t1, e)
print(summary(survfit(Surv(t0, t1, e) ~ 1)))
w <- read.csv("channing_women.csv"); w <- w[w$exit > w$entry, ]
late("Channing", w$entry, w$exit, w$cens)
print(summary(survfit(Surv(entry, exit, cens) ~ 1, w), times = c(900, 1000, 1080)))
# and by Newton's rule: optim's matrix is by differences, which are rough where the scale is known to a hundredth
p <- c(2.26, 6.96)
for (i in 1:20) {
  k <- exp(p[1]); A <- (w$exit / exp(p[2]))^k; B <- (w$entry / exp(p[2]))^k; d <- w$cens
  a <- log(A); b <- ifelse(B > 0, log(B), 0)
  g <- c(sum(d * (1 + a) - a * A + b * B), k * sum(A - B - d))
  h <- k * sum((1 + a) * A - (1 + b) * B - d)
  H <- -matrix(c(sum(d * a - a * (1 + a) * A + b * (1 + b) * B), h, h, -k^2 * sum(A - B)), 2)
  p <- p + solve(H, g)
}
print(c(exp(p), loglik = -sum(-d * (log(k) - p[2] + (k - 1) * (log(w$exit) - p[2])) + A - B)))
print(sqrt(diag(solve(H))))
own <- read.csv("late200.csv")
late("late200", own$entry, own$exit, own$event, own$south)
print(summary(survfit(Surv(entry, exit, event) ~ 1, own, start.time = 5), times = c(10, 15, 20)))

# Kaplan-Meier, log-rank
for (type in c("log", "log-log", "plain")) {
  s <- survfit(Surv(time, status) ~ 1, lung, conf.type = type)
  print(summary(s, times = c(180, 365))[c("surv", "std.err", "lower", "upper", "cumhaz", "std.chaz")])
}
print(quantile(survfit(Surv(time, status) ~ 1, lung)))
print(survfit(Surv(time, status) ~ 1, lung), rmean = 365)
print(survdiff(Surv(time, status) ~ ph.ecog, lung[which(lung$ph.ecog < 3), ])[c("chisq", "exp", "obs")])

# Cox's regression: partial likelihood, score test, curves of a profile; both ways with ties, with late entry
# and ties (late200 in whole years), and with rows that stand for so many alike, written out
cox <- function(name, f, newdata, times) {
  cat("\n==", name, "\n")
  print(c(coef(f), loglik = f$loglik, score = f$score))
  print(vcov(f))
  print(summary(survfit(f, newdata, conf.type = "log-log"), times = times)[c("surv", "std.err", "lower", "upper", "cumhaz")])
}
cox("lung", coxph(Surv(time, status) ~ age + sex, lung), data.frame(age = 60, sex = 1:2), c(180, 365))
cox("lung by Breslow", coxph(Surv(time, status) ~ age + sex, lung, ties = "breslow"), data.frame(age = 60, sex = 1:2), c(180, 365))
cox("gehan", coxph(Surv(time, event) ~ control, gehan), data.frame(control = 0:1), c(6, 12))
own$from <- floor(own$entry); own$to <- ceiling(own$exit)
for (ties in c("efron", "breslow")) {
  f <- coxph(Surv(from, to, event) ~ south, own, ties = ties)
  cox(paste("late200 in whole years,", ties), f, data.frame(south = 0:1), c(10, 15, 20))
  print(concordance(f))
}
cox("late200 in whole years, thrice where south", coxph(Surv(from, to, event) ~ south, own[rep(1:nrow(own), 1 + 2 * own$south), ]), data.frame(south = 0:1), c(10, 15, 20))

# mean cumulative function (mcf_valve.csv): robust, Poisson and unbiased errors; the last by its definition,
# the covariance of each two ages among the units at risk at the later
ends <- tapply(valve$time[valve$status == 0], valve$id[valve$status == 0], max)
ev <- valve[valve$status == 1, ]
ages <- sort(unique(ev$time))
count <- sapply(ages, function(t) sapply(names(ends), function(i) sum(ev$id == i & ev$time == t)))
M <- 0; V <- 0; N <- 0; part <- 0 * ends
for (k in seq_along(ages)) {
  risk <- ends >= ages[k]; Y <- sum(risk); n <- count[, k]; dM <- sum(n) / Y
  M <- M + dM; V <- V + sum(n) / Y^2; part <- part + risk / Y * (n - dM)
  for (j in 1:k) N <- N + (if (j < k) 2 else 1) * cov(count[risk, j], n[risk]) / sum(ends >= ages[j])
  cat(ages[k], Y, sum(n), M, sqrt(sum(part^2)), sqrt(V), sqrt(N), "\n")
}
