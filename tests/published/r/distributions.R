# Witness for fits of distributions: fitdistrplus (fitdist, fitdistcens), evd, survival, and plain
# optim on likelihoods written out here where no package is at hand (truncated normal, skew-normal,
# mixture of two normals).
suppressPackageStartupMessages({library(fitdistrplus); library(evd); library(survival)})
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "fitdistrplus", as.character(packageVersion("fitdistrplus")),
    "evd", as.character(packageVersion("evd")),
    "survival", as.character(packageVersion("survival")), "2026-11-25\n")
tight <- list(reltol = 1e-14, maxit = 20000)
polished <- function(nll, start) {
  at <- start
  for (i in 1:6) at <- optim(at, nll, method = "Nelder-Mead", control = tight)$par
  optim(at, nll, method = "BFGS", control = tight, hessian = TRUE)
}

bearings <- c(17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
              68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4)
for (family in c("norm", "lnorm", "weibull", "gamma", "logis")) {
  fit <- fitdist(bearings, family, control = tight)
  say(paste0("bearings_", family), fit$estimate, fit$sd, fit$loglik, fit$bic)
}
t_fit <- survreg(Surv(bearings) ~ 1, dist = "t", parms = 4, control = list(rel.tolerance = 1e-12))
say("bearings_t4", coef(t_fit), t_fit$scale, t_fit$loglik[2])

fibres <- c(0.55, 0.93, 1.25, 1.36, 1.49, 1.52, 1.58, 1.61, 1.64, 1.68, 1.73, 1.81, 2, 0.74, 1.04,
            1.27, 1.39, 1.49, 1.53, 1.59, 1.61, 1.66, 1.68, 1.76, 1.82, 2.01, 0.77, 1.11, 1.28,
            1.42, 1.5, 1.54, 1.6, 1.62, 1.66, 1.69, 1.76, 1.84, 2.24, 0.81, 1.13, 1.29, 1.48, 1.5,
            1.55, 1.61, 1.62, 1.66, 1.7, 1.77, 1.84, 0.84, 1.24, 1.3, 1.48, 1.51, 1.55, 1.61, 1.63,
            1.67, 1.7, 1.78, 1.89)
gev <- fgev(-fibres, control = tight)
say("fibres_gev", gev$estimate, gev$std.err, -gev$deviance / 2)
gumbel <- fgev(-fibres, shape = 0, control = tight)
say("fibres_gumbel", gumbel$estimate, gumbel$std.err, -gumbel$deviance / 2)
quantile_01 <- fgev(-fibres, prob = 0.01, control = tight)
quiet <- capture.output({
  ends <- confint(profile(quantile_01, which = "quantile", conf = 0.99, mesh = 0.01))
  shapes <- confint(profile(gev, which = "shape", conf = 0.99, mesh = 0.005))
})
say("fibres_gev_quantile_0.01", quantile_01$estimate["quantile"], ends)
say("fibres_gev_shape_profile", shapes)

skew <- polished(function(p) -sum(log(2) + dnorm(fibres, p[1], exp(p[2]), log = TRUE) +
  pnorm(p[3] * (fibres - p[1]) / exp(p[2]), log.p = TRUE)), c(1.8, log(0.5), -2))
say("fibres_skew_normal", skew$par[1], exp(skew$par[2]), skew$par[3], -skew$value)
two <- polished(function(p) -sum(log(plogis(p[1]) * dnorm(fibres, p[2], exp(p[3])) +
  (1 - plogis(p[1])) * dnorm(fibres, p[4], exp(p[5])))), c(0, 1.4, log(0.4), 1.6, log(0.1)))
say("fibres_two_normals", plogis(two$par[1]), two$par[2], exp(two$par[3]), two$par[4],
    exp(two$par[5]), -two$value)

# Rounded to 0.1, as intervals, two of them known only to lie below 0.8 and three above 1.85.
low <- ifelse(fibres < 0.8, NA, ifelse(fibres > 1.85, 1.85, round(fibres, 1) - 0.05))
high <- ifelse(fibres < 0.8, 0.8, ifelse(fibres > 1.85, NA, round(fibres, 1) + 0.05))
coarse <- data.frame(left = low, right = high)
for (family in c("norm", "lnorm", "weibull", "gamma", "logis")) {
  fit <- fitdistcens(coarse, family, control = tight)
  say(paste0("coarse_", family), fit$estimate, fit$sd, fit$loglik)
}
kept <- table(round(fibres[fibres >= 0.8 & fibres <= 1.85], 1))
say("coarse_values", as.numeric(names(kept)))
say("coarse_counts", kept)
say("coarse_beyond", sum(fibres < 0.8), sum(fibres > 1.85))
dgumbelmin <- function(x, a, b) exp((x - a) / b - exp((x - a) / b)) / b
pgumbelmin <- function(q, a, b) -expm1(-exp((q - a) / b))
fit <- fitdistcens(coarse, "gumbelmin", start = list(a = 1.6, b = 0.3), control = tight)
say("coarse_gumbel_minima", fit$estimate, fit$sd, fit$loglik)

# Recorded only from 1.0 to 1.9: a truncated normal.
seen <- fibres[fibres > 1 & fibres < 1.9]
truncated <- polished(function(p) -sum(dnorm(seen, p[1], exp(p[2]), log = TRUE) -
  log(pnorm(1.9, p[1], exp(p[2])) - pnorm(1, p[1], exp(p[2])))), c(1.5, log(0.3)))
say("truncated_normal", truncated$par[1], exp(truncated$par[2]), -truncated$value)

cens <- data.frame(
  left = c(3.8, 33.6, 87, 1700, 640, 1155, 113, 129, 586, 1856, 1.6, 4.8, 82, 155),
  right = c(3.8, 33.6, 87, NA, 640, NA, 113, 129, 586, NA, 1.6, 4.8, 82, 155))
fit <- fitdistcens(cens, "lnorm", control = tight)
say("fluazinam_lnorm", fit$estimate, fit$sd, fit$loglik)

# Profile intervals of the Weibull shape and of its 10 % quantile, by root search here.
weibull_ll <- function(shape, scale) sum(dweibull(bearings, shape, scale, log = TRUE))
best <- optimize(function(k) weibull_ll(k, mean(bearings^k)^(1 / k)), c(0.5, 6), maximum = TRUE,
                 tol = 1e-10)
drop <- best$objective - qchisq(0.95, 1) / 2
of_shape <- function(k) weibull_ll(k, mean(bearings^k)^(1 / k)) - drop
say("weibull_shape_profile", uniroot(of_shape, c(1, best$maximum), tol = 1e-10)$root,
    uniroot(of_shape, c(best$maximum, 4), tol = 1e-10)$root)
of_b10 <- function(q) optimize(function(k) weibull_ll(k, q / (-log(0.9))^(1 / k)), c(0.3, 8),
                               maximum = TRUE, tol = 1e-10)$objective - drop
say("weibull_b10_profile", uniroot(of_b10, c(10, 28), tol = 1e-9)$root,
    uniroot(of_b10, c(28.1, 50), tol = 1e-9)$root)
of_share <- function(s) optimize(function(k) weibull_ll(k, 30 / (-log1p(-s))^(1 / k)), c(0.3, 8),
                                 maximum = TRUE, tol = 1e-10)$objective - drop
say("weibull_share_below_30_profile", uniroot(of_share, c(0.02, 0.1), tol = 1e-10)$root,
    uniroot(of_share, c(0.13, 0.4), tol = 1e-10)$root)

kernel <- density(bearings, bw = "nrd0", n = 4096, from = 0, to = 200, cut = 12)
say("kernel", kernel$bw, approx(kernel$x, kernel$y, c(20, 68, 120))$y)
