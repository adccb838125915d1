# Witness for effect sizes, single cases and power; base R only, roots by uniroot on pt.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "2026-11-25\n")
ends <- function(t, df, level) {
  a <- (1 - level) / 2
  root <- function(p) uniroot(function(nc) suppressWarnings(pt(t, df, nc)) - p,
                              c(t - 10 - abs(t), t + 10 + abs(t)), tol = 1e-11)$root
  c(root(1 - a), root(a))
}
# Standardised difference, pooled, n 12 and 9: exact interval of the true value.
t <- (9.9 - 9.1) / (0.7 * sqrt(1 / 12 + 1 / 9)); say("delta_95", ends(t, 19, 0.95) * sqrt(1 / 12 + 1 / 9))
# Chance of exceeding after Reiser & Guttman, spreads unequal.
m <- c(9.9, 9.1); s <- c(0.9, 0.4); n <- c(12, 9); v <- sum(s^2)
d <- diff(rev(m)) / sqrt(v); M <- v / sum(s^2 / n); f <- v^2 / sum(s^4 / (n - 1))
say("exceeding_95", pnorm(ends(sqrt(M) * d, f, 0.95) / sqrt(M)))
# Case 0.3 against n 8, mean 1.1, sd 0.5: share below and its interval.
c0 <- (0.3 - 1.1) / 0.5
say("case_t_share_low_high_90", c0 / sqrt(9 / 8), pt(c0 / sqrt(9 / 8), 7),
    pnorm(ends(sqrt(8) * c0, 7, 0.90) / sqrt(8)))
# Power of the one-sided part of the two-sided t test (power.t.test, strict = FALSE).
say("power_17", power.t.test(n = 17, delta = 1, sd = 1)$power)
say("power_6_90", power.t.test(n = 6, delta = 0.8, sd = 0.7, sig.level = 0.10)$power)
# Power of two one-sided tests by integrate() over the chi distribution of s.
tost <- function(d, lo, hi, se, df, level) {
  b <- qt(level, df); top <- (hi - d) / (se * b); f <- function(s)
    pmax(0, pnorm((hi - d) / se - b * s) - pnorm((lo - d) / se + b * s)) *
    2 * df * s * dchisq(df * s^2, df)
  integrate(f, 0, (hi - lo) / (2 * se * b), rel.tol = 1e-11)$value
}
say("tost_40", tost(log(0.95), log(0.8), log(1.25), sqrt(log(1.09)) * sqrt(2 / 40), 38, 0.95))
say("tost_small", tost(0.1, -0.5, 0.4, 0.2, 6, 0.95))
say("tost_hopeless", tost(0, -0.2, 0.2, 0.2, 4, 0.95))
