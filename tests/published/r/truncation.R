# Witness for fits to readings of which nothing was kept beyond a value: likelihoods written out here
# (optim), and the truncated densities given to fitdistrplus; tests of fit by goftest against the
# truncated distribution, p by a parametric bootstrap written out here.
suppressPackageStartupMessages({library(fitdistrplus); library(goftest)})
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "fitdistrplus", as.character(packageVersion("fitdistrplus")),
    "goftest", as.character(packageVersion("goftest")), "2026-11-26\n")
tight <- list(reltol = 1e-14, maxit = 20000)
polished <- function(nll, start) {
  at <- start
  for (i in 1:6) at <- optim(at, nll, method = "Nelder-Mead", control = tight)$par
  optim(at, nll, method = "BFGS", control = tight, hessian = TRUE)
}

bearings <- c(17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
              68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4)
fibres <- c(0.55, 0.93, 1.25, 1.36, 1.49, 1.52, 1.58, 1.61, 1.64, 1.68, 1.73, 1.81, 2, 0.74, 1.04,
            1.27, 1.39, 1.49, 1.53, 1.59, 1.61, 1.66, 1.68, 1.76, 1.82, 2.01, 0.77, 1.11, 1.28,
            1.42, 1.5, 1.54, 1.6, 1.62, 1.66, 1.69, 1.76, 1.84, 2.24, 0.81, 1.13, 1.29, 1.48, 1.5,
            1.55, 1.61, 1.62, 1.66, 1.7, 1.77, 1.84, 0.84, 1.24, 1.3, 1.48, 1.51, 1.55, 1.61, 1.63,
            1.67, 1.7, 1.78, 1.89)

# Bearings kept from 40 on: truncated Weibull and lognormal by fitdistrplus, not rounded.
kept <- bearings[bearings >= 40]
dcutw <- function(x, shape, scale) ifelse(x < 40, 0, dweibull(x, shape, scale) /
  pweibull(40, shape, scale, lower.tail = FALSE))
pcutw <- function(q, shape, scale) ifelse(q < 40, 0, (pweibull(q, shape, scale) -
  pweibull(40, shape, scale)) / pweibull(40, shape, scale, lower.tail = FALSE))
fit <- fitdist(kept, "cutw", start = list(shape = 2, scale = 80), control = tight)
say("bearings_weibull", fit$estimate, fit$sd, fit$loglik)
say("bearings_weibull_seen", pweibull(40, fit$estimate[1], fit$estimate[2], lower.tail = FALSE))
dcutl <- function(x, meanlog, sdlog) ifelse(x < 40, 0, dlnorm(x, meanlog, sdlog) /
  plnorm(40, meanlog, sdlog, lower.tail = FALSE))
pcutl <- function(q, meanlog, sdlog) ifelse(q < 40, 0, (plnorm(q, meanlog, sdlog) -
  plnorm(40, meanlog, sdlog)) / plnorm(40, meanlog, sdlog, lower.tail = FALSE))
fit <- fitdist(kept, "cutl", start = list(meanlog = 4, sdlog = 0.5), control = tight)
say("bearings_lognormal", fit$estimate, fit$sd, fit$loglik)

# Fibres rounded to 0.05, and only those shown as 1.25 to 2.00 written down: intervals within a
# window that begins half a step before the first and ends half a step after the last value kept.
shown <- round(fibres / 0.05) * 0.05
shown <- shown[shown > 1.249 & shown < 2.001]
say("rounded_values", sort(unique(round(shown, 2))))
say("rounded_counts", table(round(shown, 2)))
low <- 1.225; high <- 2.025
rounded <- function(cdf) function(p) -sum(log(cdf(shown + 0.025, p) - cdf(shown - 0.025, p)) -
  log(cdf(high, p) - cdf(low, p)))
normal <- function(x, p) pnorm(x, p[1], exp(p[2]))
weibull <- function(x, p) pweibull(x, exp(p[1]), exp(p[2]))
fit <- polished(rounded(normal), c(1.6, log(0.2)))
errors <- sqrt(diag(solve(fit$hessian))) * c(1, exp(fit$par[2]))
say("rounded_normal", fit$par[1], exp(fit$par[2]), errors, -fit$value)
say("rounded_normal_seen", normal(high, fit$par) - normal(low, fit$par))
# Profile interval of the value that one in 20 of all, kept or not, stays below: by root search.
at_quantile <- function(q) {
  optimise(function(s) rounded(normal)(c(q - qnorm(0.05) * exp(s), s)), c(-3, 0), tol = 1e-12)$objective
}
cut <- fit$value + qchisq(0.95, 1) / 2
best <- fit$par[1] + qnorm(0.05) * exp(fit$par[2])
ends <- c(uniroot(function(q) at_quantile(q) - cut, c(best - 0.6, best), tol = 1e-10)$root,
          uniroot(function(q) at_quantile(q) - cut, c(best, best + 0.3), tol = 1e-10)$root)
say("rounded_normal_quantile", best, ends)
fit <- polished(rounded(weibull), c(log(6), log(1.6)))
errors <- sqrt(diag(solve(fit$hessian))) * exp(fit$par)
say("rounded_weibull", exp(fit$par), errors, -fit$value)

# Two gauges: of the first 31 fibres nothing below 1.5 was written down, of the others everything.
blind <- fibres[1:31][fibres[1:31] >= 1.5]; sharp <- fibres[32:63]
both <- function(p) -sum(dnorm(c(blind, sharp), p[1], exp(p[2]), log = TRUE)) +
  length(blind) * pnorm(1.5, p[1], exp(p[2]), lower.tail = FALSE, log.p = TRUE)
fit <- polished(both, c(1.5, log(0.3)))
errors <- sqrt(diag(solve(fit$hessian))) * c(1, exp(fit$par[2]))
say("two_gauges_normal", fit$par[1], exp(fit$par[2]), errors, -fit$value)

# Does the truncated normal fit the fibres above 1, not rounded? Statistics against the fit, and p by
# 1999 samples drawn from it and fitted anew.
seen <- fibres[fibres > 1]
cut_normal <- function(x) function(p) -sum(dnorm(x, p[1], exp(p[2]), log = TRUE) -
  pnorm(1, p[1], exp(p[2]), lower.tail = FALSE, log.p = TRUE))
pcut <- function(q, p) (pnorm(q, p[1], exp(p[2])) - pnorm(1, p[1], exp(p[2]))) /
  pnorm(1, p[1], exp(p[2]), lower.tail = FALSE)
distances <- function(x, p) c(ad.test(x, function(q) pcut(q, p))$statistic,
  cvm.test(x, function(q) pcut(q, p))$statistic,
  suppressWarnings(ks.test(x, function(q) pcut(q, p)))$statistic)
fit <- polished(cut_normal(seen), c(1.6, log(0.2)))
observed <- distances(seen, fit$par)
say("fit_statistics", observed)
set.seed(1)
drawn <- replicate(1999, {
  u <- runif(length(seen), pnorm(1, fit$par[1], exp(fit$par[2])), 1)
  x <- qnorm(u, fit$par[1], exp(fit$par[2]))
  distances(x, optim(fit$par, cut_normal(x), control = list(reltol = 1e-10))$par)
})
say("fit_p", (1 + rowSums(drawn >= observed)) / 2000)
