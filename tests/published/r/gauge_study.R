# Witness for gauge studies that are not balanced: R lme4 on the handbook data of parts and
# appraisers with some readings struck out.
suppressMessages(library(lme4))
y <- c(0.29,-0.56,1.34,0.47,-0.80,0.02,0.59,-0.31,2.26,-1.36,
       0.41,-0.68,1.17,0.50,-0.92,-0.11,0.75,-0.20,1.99,-1.25,
       0.64,-0.58,1.27,0.64,-0.84,-0.21,0.66,-0.17,2.01,-1.31,
       0.08,-0.47,1.19,0.01,-0.56,-0.20,0.47,-0.63,1.80,-1.68,
       0.25,-1.22,0.94,1.03,-1.20,0.22,0.55,0.08,2.12,-1.62,
       0.07,-0.68,1.34,0.20,-1.28,0.06,0.83,-0.34,2.19,-1.50,
       0.04,-1.38,0.88,0.14,-1.46,-0.29,0.02,-0.46,1.77,-1.49,
       -0.11,-1.13,1.09,0.20,-1.07,-0.67,0.01,-0.56,1.45,-1.77,
       -0.15,-0.96,0.67,0.11,-1.45,-0.49,0.21,-0.49,1.87,-2.16)
part <- factor(rep(1:10, 9)); person <- factor(rep(1:3, each = 30))
d <- data.frame(y, part, person)[-c(4, 41), ]
tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-9))
additive <- lmer(y ~ 1 + (1 | part) + (1 | person), d, control = tight)
print(as.data.frame(VarCorr(additive))[, c("grp", "vcov")], digits = 8)
cat("criterion", format(REMLcrit(additive), digits = 10), "\n")
full <- lmer(y ~ 1 + (1 | part) + (1 | person) + (1 | part:person), d, control = tight)
print(as.data.frame(VarCorr(full))[, c("grp", "vcov")], digits = 8)
# parts within persons: keep other parts for each person, some struck out
own <- subset(data.frame(y, part, person),
              (person == 1 & part %in% 1:4) | (person == 2 & part %in% 4:7) |
              (person == 3 & part %in% 6:10))[-c(2, 9, 20), ]
nested <- lmer(y ~ 1 + (1 | person / part), own, control = tight)
print(as.data.frame(VarCorr(nested))[, c("grp", "vcov")], digits = 8)
cat("criterion", format(REMLcrit(nested), digits = 10), nrow(own), "\n")
# exact interval of the share of parts, one-way balanced (Searle, Casella & McCulloch 1992, 3.6)
rail <- c(55,53,54,26,37,32,78,91,85,92,100,96,49,51,50,80,85,83)
a <- anova(lm(rail ~ factor(rep(1:6, each = 3))))
f <- a$"F value"[1]
l <- f / qf(0.975, 5, 12); u <- f / qf(0.025, 5, 12)
cat("share", format(c((l - 1) / (l + 2), (u - 1) / (u + 2)), digits = 10), "\n")
cat(R.version.string, "lme4", format(packageVersion("lme4")), "2026-11-25\n")
