# Witness for intervals of one sample, prediction and ratios; base R and mvtnorm only.
# The ratio interval is found by root search on its t statistic, not by the closed form.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "mvtnorm", as.character(packageVersion("mvtnorm")), "2026-11-25\n")

circuits <- c(50.3, 48.3, 49.6, 50.4, 51.9)
say("circuits_mean", t.test(circuits)$conf.int)
n <- length(circuits); m <- mean(circuits); s <- sd(circuits)
cv <- function(n, m, s, level) {
  t <- sqrt(n) * m / s; a <- (1 - level) / 2
  hi <- uniroot(function(nc) pt(t, n - 1, nc) - a, c(t, 4 * t + 10), tol = 1e-10)$root
  lo <- uniroot(function(nc) pt(t, n - 1, nc) - 1 + a, c(-10, t), tol = 1e-10)$root
  sqrt(n) / c(hi, lo)
}
say("cv_10_5.0_1.2_95", cv(10, 5.0, 1.2, 0.95))
say("cv_6_8.4_1.1_90", cv(6, 8.4, 1.1, 0.90))
next_mean <- function(k, level) m + c(-1, 1) * qt((1 + level) / 2, n - 1) * s * sqrt(1 / k + 1 / n)
say("circuits_next_mean_of_3_95", next_mean(3, 0.95))
library(mvtnorm); set.seed(20261125)
factor <- function(n, k, level) {
  r <- matrix(1 / (n + 1), k, k); diag(r) <- 1
  qmvt(level, tail = "both.tails", df = n - 1, corr = r,
       algorithm = GenzBretz(maxpts = 2e6, abseps = 1e-6))$quantile * sqrt(1 + 1 / n)
}
say("factor_5_10_95", factor(5, 10, 0.95))
say("factor_12_3_90", factor(12, 3, 0.90))
fieller <- function(m1, s1, n1, m2, s2, n2, level) {
  r <- m1 / m2; v1 <- s1^2 / n1; v2 <- s2^2 / n2
  df <- (v1 + r^2 * v2)^2 / (v1^2 / (n1 - 1) + r^4 * v2^2 / (n2 - 1))
  t <- function(x) (m1 - x * m2) / sqrt(v1 + x^2 * v2)
  q <- qt((1 + level) / 2, df)
  c(df, uniroot(function(x) t(x) - q, c(-5, r), tol = 1e-12)$root,
    uniroot(function(x) t(x) + q, c(r, r + 20), tol = 1e-12)$root)
}
say("ratio_df_low_high_95", fieller(92, 2.5, 8, 80, 2, 12, 0.95))
say("ratio_near_zero_df_low_high_90", fieller(3.0, 1.0, 6, 2.0, 1.5, 9, 0.90))
say("noncentral_t", pt(c(-1.7243358, 2, -3, 5, 10, 1, 30), c(27, 1, 2, 3, 58, 5, 4),
                       c(-2, 0.5, 1, 8, 9, -2, 3)))
