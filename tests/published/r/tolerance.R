# Witness for tolerance limits: exact two-sided factors by adaptive integration, one-sided ones by
# qt, a Weibull limit by simulated pivots (survreg refits every sample), and the generalised limit
# of a balanced one-way model written out from its formula for one thing (Dyestuff: 6 batches of 5).
suppressPackageStartupMessages({library(survival); library(lme4)})
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "survival", as.character(packageVersion("survival")),
    "lme4", as.character(packageVersion("lme4")), "2026-11-25\n")

two <- function(n, p, conf) {
  enough <- function(k) integrate(function(z) sapply(z, function(u) {
    x <- u / sqrt(n)
    r <- uniroot(function(r) pnorm(x + r) - pnorm(x - r) - p, c(0, 20), tol = 1e-13)$root
    2 * dnorm(u) * pchisq((n - 1) * (r / k)^2, n - 1, lower.tail = FALSE)
  }), 0, 8.5, rel.tol = 1e-9, subdivisions = 2000)$value
  uniroot(function(k) enough(k) - conf, c(0.5, 60), tol = 1e-9)$root
}
say("two_sided_7", two(7, 0.90, 0.95), two(7, 0.99, 0.90))
say("two_sided_18", two(18, 0.80, 0.99), two(18, 0.95, 0.80))
one <- function(n, p, conf) qt(conf, n - 1, qnorm(p) * sqrt(n)) / sqrt(n)
say("one_sided_7_18", one(7, 0.90, 0.95), one(18, 0.99, 0.90))

set.seed(20261125)
bearings <- c(17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
              68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4)
fit <- survreg(Surv(bearings) ~ 1, dist = "weibull")
pivots <- replicate(8000, {
  f <- survreg(Surv(rweibull(23, 1, 1)) ~ 1, dist = "weibull")
  c((log(-log(0.9)) - coef(f)) / f$scale, (log(-log(0.1)) - coef(f)) / f$scale)
})
k <- c(quantile(pivots[1, ], 0.05), quantile(pivots[2, ], 0.95))
say("bearings_weibull_90_95", exp(coef(fit) + k * fit$scale))

y <- Dyestuff$Yield; b <- Dyestuff$Batch; a <- 6; n <- 5
means <- tapply(y, b, mean)
ssa <- sum((means - mean(means))^2); sse <- sum((y - means[b])^2); m <- 1e6
qa <- rchisq(m, a - 1); qe <- rchisq(m, a * (n - 1)); z <- rnorm(m)
total <- ssa / qa + (1 - 1 / n) * sse / qe
for (p in c(0.9, 0.95)) {
  low <- mean(means) + z * sqrt(ssa / qa / a) + qnorm(1 - p) * sqrt(total)
  say(paste0("dyestuff_lower_", p, "_95"), quantile(low, 0.05))
}
nxt <- mean(means) + z * sqrt(ssa / qa / a) + rnorm(m) * sqrt(total)
say("dyestuff_next_reading_95", quantile(nxt, c(0.025, 0.975)))
