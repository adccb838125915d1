# Witness for tests of fit: statistics of counts in cells by plain loops, chisq.test, gofstat, and
# p by a parametric bootstrap with fitdistrplus refitting every drawn sample.
suppressPackageStartupMessages(library(fitdistrplus))
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "fitdistrplus", as.character(packageVersion("fitdistrplus")),
    "2026-11-25\n")

counts <- c(3, 19, 81, 189, 409, 753, 1062, 1082, 935, 646, 313, 168, 50, 18, 3, 1)
edges <- c(-Inf, 33:47 + 0.5, Inf)
n <- sum(counts)
p <- diff(pnorm(edges, 39.85, 2.05))
z <- 0; h <- 0; w2 <- 0; a2 <- 0; d <- 0
for (j in seq_along(counts)) {
  z <- z + counts[j] - n * p[j]; h <- h + p[j]
  w2 <- w2 + z^2 * p[j] / n
  if (j < length(counts)) a2 <- a2 + z^2 * p[j] / (h * (1 - h)) / n
  d <- max(d, abs(z) / n)
}
say("cells", a2, w2, d)
say("chi_square", suppressWarnings(chisq.test(counts, p = p))$statistic)

anderson <- function(x, cdf) {
  x <- sort(x); n <- length(x); i <- seq_len(n); u <- cdf(x)
  -n - mean((2 * i - 1) * (log(u) + log1p(-rev(u))))
}
bearings <- c(17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.48, 51.84, 51.96, 54.12, 55.56, 67.8,
              68.64, 68.64, 68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4)
set.seed(20261125)
bootstrap <- function(x, family, draw, cdf, count) {
  own <- fitdist(x, family)$estimate
  seen <- anderson(x, function(q) cdf(q, own[1], own[2]))
  far <- replicate(count, {
    y <- draw(length(x), own[1], own[2]); e <- fitdist(y, family)$estimate
    anderson(y, function(q) cdf(q, e[1], e[2]))
  })
  c(seen, mean(far >= seen), quantile(far, 0.95))
}
say("bearings_weibull", bootstrap(bearings, "weibull", rweibull, pweibull, 4000))
say("bearings_logistic", bootstrap(bearings, "logis", rlogis, plogis, 4000))
chicks <- c(156, 162, 168, 182, 186, 190, 190, 196, 202, 210, 214, 220, 226, 230, 230, 236, 236,
            242, 246, 270)
say("chicks_normal", bootstrap(chicks, "norm", rnorm, pnorm, 4000))
