# Witness for the bootstrap: package boot with many draws; studentised interval included.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
suppressMessages(library(boot)); set.seed(20261125)
cat("#", R.version.string, "boot", as.character(packageVersion("boot")), "2026-11-25\n")
hours <- aircondit$hours
b <- boot(hours, function(d, i) c(mean(d[i]), var(d[i]) / length(i)), R = 100000)
ci <- boot.ci(b, conf = 0.95, type = c("perc", "bca", "stud"))
say("aircondit_percentile", ci$percent[4:5]); say("aircondit_bca", ci$bca[4:5])
say("aircondit_studentised", ci$student[4:5]); say("aircondit_se", sd(b$t[, 1]))
# Two samples, ratio of standard deviations, drawn within each sample.
plants <- split(PlantGrowth$weight, PlantGrowth$group)
d <- data.frame(y = c(plants$trt1, plants$trt2), g = rep(1:2, each = 10))
r <- boot(d, function(d, i) { s <- tapply(d$y[i], d$g[i], sd); log(s[1] / s[2]) },
          R = 100000, strata = d$g)
L <- empinf(r, type = "jack", strata = d$g)
ci <- boot.ci(r, conf = 0.9, type = c("perc", "bca"), L = L)
say("plants_trt1", plants$trt1); say("plants_trt2", plants$trt2)
say("spread_log_ratio", r$t0); say("spread_percentile_90", ci$percent[4:5])
say("spread_bca_90", ci$bca[4:5])
