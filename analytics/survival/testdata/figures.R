# Runs again, in R, what the tests of package survival are checked against.
#   apt-get install r-base-core r-cran-survival r-cran-boot     (Debian 12: R 4.2.2, survival 3.5-3)
#   Rscript figures.R                                           (in this folder)
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
show("genfan", survreg(Surv(hours, status) ~ 1, genfan))

# intervals
last <- max(cracks$days); left <- 167 - sum(cracks$fail)
d <- data.frame(l = c(NA, cracks$days), u = c(cracks$days, NA), w = c(cracks$fail, left))
show("cracks", survreg(Surv(l, u, type = "interval2") ~ 1, d, weights = w, dist = "weibull"))

# predictions
f <- survreg(Surv(t, s) ~ 1, nist)
print(predict(f, data.frame(1), type = "quantile", p = c(.1, .5, .9), se = TRUE))
f <- survreg(Surv(time, status) ~ age + sex, lung)
print(predict(f, data.frame(age = 60, sex = 1:2), type = "quantile", p = c(.1, .5, .9), se = TRUE))
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

# mean cumulative function (mcf_valve.csv)
ends <- tapply(valve$time[valve$status == 0], valve$id[valve$status == 0], max)
ev <- valve[valve$status == 1, ]
M <- 0; V <- 0; part <- 0 * ends
for (t in sort(unique(ev$time))) {
  risk <- ends >= t; Y <- sum(risk)
  n <- sapply(names(ends), function(i) sum(ev$id == i & ev$time == t)); dM <- sum(n) / Y
  M <- M + dM; V <- V + sum(n) / Y^2; part <- part + risk / Y * (n - dM)
  cat(t, Y, sum(n), M, sqrt(sum(part^2)), sqrt(V), "\n")
}
