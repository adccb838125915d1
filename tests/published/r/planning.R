# Witness for tests/published/test_planning.py: power and numbers by R's own stats, bounds of
# several looks by rpact. Run: Rscript planning.R > planning.txt
suppressPackageStartupMessages(library(rpact))
cat("date 2026-11-25;", R.version.string, "\n")
cat("rpact", as.character(packageVersion("rpact")), "\n")
num <- function(x) formatC(x, digits = 9, format = "g", flag = "#")
say <- function(key, x) cat(key, num(x), "\n")

cat("\n[t]\n")
say("n power 0.8 at 0.2", power.t.test(delta = 0.2, power = 0.8, strict = TRUE, tol = 1e-10)$n)
say("n power 0.8 at 0.5", power.t.test(delta = 0.5, power = 0.8, strict = TRUE, tol = 1e-10)$n)
say("n power 0.8 at 0.8", power.t.test(delta = 0.8, power = 0.8, strict = TRUE, tol = 1e-10)$n)
say("power 30 at 0.5", power.t.test(n = 30, delta = 0.5, strict = TRUE)$power)
say("power 20 at 1", power.t.test(n = 20, delta = 1, strict = TRUE)$power)
say("power 5 at 0.2", power.t.test(n = 5, delta = 0.2, strict = TRUE)$power)
say("n power 0.9 at 1", power.t.test(delta = 1, power = 0.9, strict = TRUE, tol = 1e-10)$n)
say("delta 20 power 0.9", power.t.test(n = 20, power = 0.9, strict = TRUE, tol = 1e-12)$delta)
say("one-sided power 12 at 1", power.t.test(n = 12, delta = 1, sig.level = 0.025,
                                             alternative = "one.sided")$power)

cat("\n[shares]\n")
say("power 50", power.prop.test(n = 50, p1 = 0.50, p2 = 0.75)$power)
say("n power 0.9", power.prop.test(p1 = 0.50, p2 = 0.75, power = 0.9)$n)
counted <- function(n1, n2, p1, p2) {
  total <- 0
  for (a in 0:n1) for (b in 0:n2) {
    p <- if ((a + b) %in% c(0, n1 + n2)) 1 else
      suppressWarnings(prop.test(c(a, b), c(n1, n2), correct = FALSE)$p.value)
    if (p < 0.05) total <- total + dbinom(a, n1, p1) * dbinom(b, n2, p2)
  }
  total
}
say("counted 20 20", counted(20, 20, 0.75, 0.5))
say("counted 12 35", counted(12, 35, 0.9, 0.4))
say("counted 9 9 null", counted(9, 9, 0.3, 0.3))

cat("\n[spreads]\n")
f <- function(n1, n2, ratio) {  # two-sided 5 %
  q <- qf(c(0.025, 0.975), n1 - 1, n2 - 1)
  pf(q[1] / ratio^2, n1 - 1, n2 - 1) + pf(q[2] / ratio^2, n1 - 1, n2 - 1, lower.tail = FALSE)
}
say("power 12 20 at 2", f(12, 20, 2))
say("power 8 8 at 0.5", f(8, 8, 0.5))

looks <- function(name, type, times) {
  cat("\n[", name, "]\n", sep = "")
  d <- getDesignGroupSequential(kMax = length(times), alpha = 0.05, sided = 2, beta = 0.2,
                                informationRates = times, typeOfDesign = type)
  for (k in seq_along(times)) {
    say(paste("bound", k), d$criticalValues[k]); say(paste("spent", k), d$alphaSpent[k])
  }
  ch <- getDesignCharacteristics(d)
  say("inflation", ch$inflationFactor); say("information at alternative", ch$averageSampleNumber1)
  for (k in seq_along(times)) say(paste("power", k), ch$power[k])
}
looks("obrien-fleming 5", "asOF", (1:5) / 5)
looks("pocock 5", "asP", (1:5) / 5)
looks("obrien-fleming uneven", "asOF", c(0.3, 0.45, 0.9, 1))
looks("pocock uneven", "asP", c(0.1, 0.5, 0.6, 1))
looks("obrien-fleming 10", "asOF", (1:10) / 10)
