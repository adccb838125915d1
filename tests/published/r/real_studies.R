# Witness for the real studies in data/: the published models, fitted to the files of the studies.
# Run from the project folder: Rscript tests/published/r/real_studies.R
suppressMessages({library(nlme); library(lme4); library(lmerTest); library(pbkrtest)})
cat(R.version.string, "nlme", format(packageVersion("nlme")), "lme4", format(packageVersion("lme4")),
    "lmerTest", format(packageVersion("lmerTest")), "pbkrtest", format(packageVersion("pbkrtest")), "\n")
cat("2026-11-25\n")
options(digits = 9)

cat("\noxide: thickness ~ source + (1 | lot/wafer), Kenward-Roger\n")
oxide <- read.csv("data/oxide/readings.csv")
fit <- lmerTest::lmer(value ~ family + (1 | block/bore), oxide)
print(coef(summary(fit, ddf = "Kenward-Roger")))
print(as.data.frame(VarCorr(fit))[, c("grp", "vcov")])

cat("\ngrowth: distance ~ age + sex, random = ~ 1 | child (nlme), age as a number and as a factor\n")
growth <- read.csv("data/growth/readings.csv")
growth$family <- factor(growth$family, levels = c("male", "female"))
growth$age <- as.numeric(sub("age-", "", growth$station))
print(summary(lme(value ~ age + family, growth, random = ~ 1 | block))$tTable)
fit <- lmerTest::lmer(value ~ station + family + (1 | block), growth)
print(coef(summary(fit, ddf = "Kenward-Roger"))["familyfemale", ])
print(as.data.frame(VarCorr(fit))[, c("grp", "vcov")])

cat("\nmileage: pooled and Welch t\n")
mileage <- read.csv("data/mileage/readings.csv")
japan <- mileage$value[mileage$family == "japan"]
us <- mileage$value[mileage$family == "us"]
for (equal in c(TRUE, FALSE)) {
  test <- t.test(japan, us, var.equal = equal)
  print(c(test$statistic, test$parameter, se = test$stderr, p = test$p.value, test$conf.int))
}
