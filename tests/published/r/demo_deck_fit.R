# Witness for the whole way from rows to a fit: decks of one family of the demo study, each reading
# the interval of its written step, both ends turned by the line of its calibration (least squares
# through its pieces), fitted by fitdistrplus as interval-censored values; then the same with every
# reading below 12.9 mm known only from above. Run from the top of the project.
suppressPackageStartupMessages(library(fitdistrplus))
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "fitdistrplus", as.character(packageVersion("fitdistrplus")),
    "2026-11-25\n")
tight <- list(reltol = 1e-14, maxit = 20000)
rows <- read.csv("data/demo/readings.csv", colClasses = "character")
pieces <- read.csv("data/demo/calibrations.csv")
lines <- lapply(split(pieces, pieces$calibration), function(p) coef(lm(indicated ~ reference, p)))
# One row gives a block of another family to this one: its name tells.
good <- !duplicated(rows) & startsWith(trimws(rows$block), "D") &
  grepl("^ *[0-9.]+ *$", rows$value) & trimws(rows$unit) %in% c("mm", "in")
mine <- subset(rows, good & family == "deepdeck" & quantity == "deck_thickness" &
                 sampling %in% c("grid", "") & contact %in% c("good", ""))
shown <- as.numeric(mine$value) * ifelse(trimws(mine$unit) == "in", 25.4, 1)
# The step of a unit is the finest written in it; the gauges resolve 0.01 mm.
half <- ifelse(trimws(mine$unit) == "in", 0.001 * 25.4, 0.01) / 2
zero <- sapply(mine$calibration, function(name) lines[[name]][[1]])
slope <- sapply(mine$calibration, function(name) lines[[name]][[2]])
ends <- data.frame(left = (shown - half - zero) / slope, right = (shown + half - zero) / slope)
say("readings", nrow(ends))
for (family in c("norm", "lnorm", "gamma", "logis")) {
  fit <- fitdistcens(ends, family, control = tight)
  say(family, fit$estimate, fit$loglik)
}
low <- ends$right < 12.9
beyond <- data.frame(left = ifelse(low, NA, ends$left), right = ifelse(low, 12.9, ends$right))
say("below", sum(low))
fit <- fitdistcens(beyond, "norm", control = tight)
say("censored_norm", fit$estimate, fit$loglik)
