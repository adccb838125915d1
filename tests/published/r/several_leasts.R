# A likelihood with two least points: operators, or the interaction, make up a spread.
# Run with: Rscript several_leasts.R > several_leasts.txt
suppressMessages(library(lme4))
cat(R.version.string, "\nlme4", as.character(packageVersion("lme4")), "\n2026-11-26\n")
part <- factor(c(0, 1, 1, 1, 2, 2, 2, 2, 2, 2, 3, 3, 3, 3, 3, 3))
operator <- factor(c(0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0, 0, 1, 1, 1))
value <- c(-0.48, -0.81, -0.70, -0.74, 1.80, 1.86, 1.80, 1.27, 1.16, 1.04,
           1.97, 1.99, 1.71, 1.24, 1.20, 1.21)
both <- interaction(part, operator, drop = TRUE)
deviance_of <- lmer(value ~ 1 + (1 | part) + (1 | operator) + (1 | both), REML = FALSE,
                    devFunOnly = TRUE, control = lmerControl(check.conv.singular = "ignore"))
# Standard deviations over that of the residual, in the order both, part, operator.
starts <- expand.grid(both = c(0.1, 5), part = c(0.1, 10), operator = c(0.1, 5))
found <- apply(starts, 1, function(start)
  nlminb(start, deviance_of, lower = 0, control = list(rel.tol = 1e-12))$objective)
cat("least -2 log-likelihoods found:\n")
print(table(round(found, 5)))
