# Witness for a normal sample with readings at the gauge's lower limit: survival::survreg.
library(survival)
value <- c(2.0, 2.0, 2.0, 2.31, 2.44, 2.52, 2.60, 2.71, 2.83, 3.02, 3.15, 3.40)
seen <- c(0, 0, 0, 1, 1, 1, 1, 1, 1, 1, 1, 1)
fit <- survreg(Surv(value, seen, type = "left") ~ 1, dist = "gaussian",
               control = list(rel.tolerance = 1e-12))
cat("mean", format(coef(fit), digits = 12), "sd", format(fit$scale, digits = 12), "\n")
cat("se mean", format(sqrt(vcov(fit)[1, 1]), digits = 12),
    "se log sd", format(sqrt(vcov(fit)[2, 2]), digits = 12), "loglik",
    format(fit$loglik[2], digits = 12), "\n")
# two different limits
limit <- c(2.0, 2.2, 2.0, value[4:12])
two <- survreg(Surv(limit, seen, type = "left") ~ 1, dist = "gaussian",
               control = list(rel.tolerance = 1e-12))
cat("mean", format(coef(two), digits = 12), "sd", format(two$scale, digits = 12), "\n")
# fluazinam (R fitdistrplus): right-censored lognormal, turned about
left <- c(3.8, 33.6, 87, 1700, 640, 1155, 113, 129, 586, 1856, 1.6, 4.8, 82, 155)
event <- c(1, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 1, 1)
f <- survreg(Surv(log(left), event) ~ 1, dist = "gaussian", control = list(rel.tolerance = 1e-12))
cat("fluazinam", format(c(coef(f), f$scale, sqrt(vcov(f)[1, 1]), f$scale * sqrt(vcov(f)[2, 2])),
    digits = 12), "\n")
cat(R.version.string, "survival", format(packageVersion("survival")), "2026-11-25\n")
