# Witness for tests/published/test_below_zero.py: families compared where groups vary less than their
# readings explain. nlme's gls takes an equal correlation within a group, which may be negative: the
# nested model with a variance of groups below zero. Data: Dyestuff2 (Box and Tiao 1973), batches A
# to C against D to F, whole and with readings left out.
# Run from the project folder: Rscript tests/published/r/below_zero.R > tests/published/r/below_zero.txt
suppressPackageStartupMessages({library(lme4); library(nlme)})
cat("#", R.version.string, "lme4", format(packageVersion("lme4")), "nlme",
    format(packageVersion("nlme")), "\n# 2026-11-25\n")
data(Dyestuff2, package = "lme4")
Dyestuff2$family <- ifelse(Dyestuff2$Batch %in% c("A", "B", "C"), "first", "second")
out <- c(4, 5, 8, 20, 23, 24, 29)                # rows left out of the unbalanced table
show <- function(name, d) {
  fit <- gls(Yield ~ family, d, correlation = corCompSymm(form = ~ 1 | Batch), method = "REML",
             control = glsControl(tolerance = 1e-12, msTol = 1e-14, msMaxIter = 500))
  rho <- coef(fit$modelStruct$corStruct, unconstrained = FALSE)
  cat(name, sprintf("%.9g", c(coef(fit)[2], sqrt(vcov(fit)[2, 2]), rho * fit$sigma^2,
      (1 - rho) * fit$sigma^2, -2 * as.numeric(logLik(fit)))), "\n")
}
cat("# estimate, standard error of known variances, variance of batches, of readings, criterion\n")
show("whole", Dyestuff2)
show("unbalanced", Dyestuff2[-out, ])
means <- aggregate(Yield ~ family + Batch, Dyestuff2, mean)
for (equal in c(TRUE, FALSE)) {
  t <- t.test(Yield ~ family, means, var.equal = equal)
  cat(if (equal) "pooled" else "welch", sprintf("%.9g", c(t$statistic, t$parameter, t$p.value)), "\n")
}
