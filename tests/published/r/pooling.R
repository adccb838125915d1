# Witness for tests/published/test_pooling.py: random-effects pooling by metafor on the trials of BCG
# vaccine (metadat, from Colditz et al. 1994) and on an invented small set.
# Run: Rscript pooling.R > pooling.txt
suppressPackageStartupMessages(library(metafor))
cat("date 2026-11-25;", R.version.string, "\n")
for (p in c("metafor", "metadat")) cat(p, as.character(packageVersion(p)), "\n")
num <- function(x) formatC(x, digits = 10, format = "g", flag = "#")
say <- function(key, x) cat(key, num(x), "\n")
tight <- list(threshold = 1e-12, maxiter = 1000, tol = 1e-12, tau2.max = 1e5)

report <- function(name, yi, vi) {
  for (m in c("DL", "REML", "PM")) {
    cat("\n[", name, " ", m, "]\n", sep = "")
    f <- rma(yi, vi, method = m, control = tight)
    say("estimate", f$b[1]); say("se", f$se); say("tau2", f$tau2); say("Q", f$QE)
    say("Q_p", f$QEp); say("I2", f$I2 / 100)
    say("low", f$ci.lb); say("high", f$ci.ub)
    say("prediction_low_normal", predict(f)$pi.lb)
    h <- rma(yi, vi, method = m, test = "adhoc", control = tight)
    say("knapp_se", h$se); say("knapp_low", h$ci.lb); say("knapp_high", h$ci.ub)
    say("knapp_p", h$pval)
    g <- rma(yi, vi, method = m, test = "knha", control = tight)
    say("plain_knapp_se", g$se)
    q <- confint(f, type = "QP", control = list(tol = 1e-12, tau2.max = 1e5))$random
    say("tau2_low", q["tau^2", "ci.lb"]); say("tau2_high", q["tau^2", "ci.ub"])
  }
}
B <- escalc(measure = "RR", ai = tpos, bi = tneg, ci = cpos, di = cneg, data = metadat::dat.bcg)
cat("\n[trials]\n"); for (i in seq_len(nrow(B))) cat(i, num(B$yi[i]), num(B$vi[i]), "\n")
report("bcg", B$yi, B$vi)
report("alike", c(1.0, 1.2, 0.9, 1.1), c(0.09, 0.04, 0.16, 0.0625))
report("two", c(1.0, 2.5), c(0.09, 0.04))
