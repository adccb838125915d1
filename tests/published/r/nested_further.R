# Witness for tests/published/test_nested_further.py: predicted effects, refits without a group,
# profile intervals, interactions, unequal spreads and crossed effects by lme4, nlme, pbkrtest and
# emmeans. Run: Rscript nested_further.R > nested_further.txt
suppressPackageStartupMessages({
  library(lme4); library(lmerTest); library(pbkrtest); library(emmeans); library(nlme)
})
data(Oxide, Machines, package = "nlme")
data(Dyestuff, Pastes, Penicillin, package = "lme4")
cat("date 2026-11-25;", R.version.string, "\n")
for (p in c("lme4", "lmerTest", "pbkrtest", "nlme", "emmeans"))
  cat(p, as.character(packageVersion(p)), "\n")

tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6),
                     calc.derivs = FALSE, check.conv.singular = "ignore",
                     check.nobs.vs.nlev = "ignore", check.nobs.vs.nRE = "ignore")
num <- function(x) formatC(x, digits = 9, format = "g", flag = "#")
say <- function(key, x) cat(key, num(x), "\n")
fitted_by <- function(formula, data, REML = TRUE)
  lmerTest::lmer(formula, data, REML = REML, control = tight)
kr <- function(prefix, fit, row) {
  b <- lme4::fixef(fit); adjusted <- pbkrtest::vcovAdj(fit)
  say(paste(prefix, "estimate"), sum(row * b))
  say(paste(prefix, "se_kr"), sqrt(drop(t(row) %*% as.matrix(adjusted) %*% row)))
  say(paste(prefix, "df_kr"), pbkrtest::Lb_ddf(row, vcov(fit), adjusted))
}
variances <- function(fit) {
  v <- as.data.frame(VarCorr(fit))
  for (i in seq_len(nrow(v))) say(paste("variance", v$grp[i]), v$vcov[i])
}

O <- data.frame(thickness = Oxide$Thickness, source = factor(Oxide$Source),
                lot = factor(as.character(Oxide$Lot)), wafer = as.character(Oxide$Wafer),
                site = as.character(Oxide$Site))
O$wafer <- factor(paste(O$lot, O$wafer))
within_lot <- as.character(Oxide$Wafer)
u1 <- !((O$lot == "3" & within_lot %in% c("2", "3")) | (O$lot == "8" & within_lot == "3") |
        (O$lot == "5" & O$site == "3") |
        (O$lot == "1" & within_lot == "1" & O$site %in% c("2", "3")))
U <- droplevels(O[u1, ])

cat("\n[predicted lots of subset u1]\n")
f <- fitted_by(thickness ~ source + (1 | lot/wafer), U)
r <- lme4::ranef(f, condVar = FALSE)$lot
source_of <- tapply(as.character(U$source), U$lot, function(s) s[1])
b <- lme4::fixef(f)
# Henderson's mixed model equations at the fitted variances: the error of x'b + u
v <- as.data.frame(VarCorr(f)); s2 <- v$vcov[v$grp == "Residual"]
X <- model.matrix(~ source, U); Zl <- model.matrix(~ 0 + lot, U); Zw <- model.matrix(~ 0 + wafer, U)
A <- cbind(X, Zl, Zw)
G <- c(rep(0, 2), rep(1 / v$vcov[v$grp == "lot"], ncol(Zl)),
       rep(1 / v$vcov[v$grp == "wafer:lot"], ncol(Zw)))
C <- solve(crossprod(A) / s2 + diag(G))
for (l in levels(U$lot)) {
  row <- c(1, source_of[[l]] == "2", as.numeric(levels(U$lot) == l), rep(0, ncol(Zw)))
  say(paste("mean", l), b[[1]] + (source_of[[l]] == "2") * b[[2]] + r[l, 1])
  say(paste("error", l), sqrt(drop(t(row) %*% C %*% row)))
}
cat("\n[residuals of subset u1]\n")
for (i in seq_len(nrow(U)))
  say(paste0("residual ", U$wafer[i], " ", U$site[i]), residuals(f)[[i]])

cat("\n[subset u1 without a lot]\n")
for (l in levels(U$lot)) kr(l, fitted_by(thickness ~ source + (1 | lot/wafer),
                                         droplevels(U[U$lot != l, ])), c(0, 1))

profile_ends <- function(name, fit) {
  cat("\n[", name, "]\n", sep = "")
  ends <- suppressMessages(confint(fit, oldNames = FALSE, method = "profile", quiet = TRUE))
  for (i in seq_len(nrow(ends))) {
    say(paste(gsub(" ", "_", rownames(ends)[i]), "low"), ends[i, 1])
    say(paste(gsub(" ", "_", rownames(ends)[i]), "high"), ends[i, 2])
  }
}
profile_ends("profile dyestuff", fitted_by(Yield ~ 1 + (1 | Batch), Dyestuff, FALSE))
profile_ends("profile pastes", fitted_by(strength ~ 1 + (1 | batch/cask), Pastes, FALSE))
profile_ends("profile oxide", fitted_by(thickness ~ 1 + (1 | lot/wafer), O, FALSE))

# The invented table of nested.R, drawn the same way.
set.seed(20261125)
W <- expand.grid(depth = c("10", "60"), station = c("front", "rear", "thrust"), bore = 1:4,
                 block = paste0("b", 1:8), repeat_ = 1:2, stringsAsFactors = FALSE)
W$family <- ifelse(W$block == "b8", "trophy", "works")
W <- W[(seq_len(nrow(W)) * 7919) %% 13 > 4, ]
W$bore <- paste(W$block, W$bore)
block <- setNames(rnorm(8, 0, 0.25), paste0("b", 1:8)); bore <- setNames(rnorm(32, 0, 0.30),
                                                                        sort(unique(W$bore)))
W$wall <- round(6 + 0.9 * (W$family == "trophy") - 0.3 * (W$station == "thrust") +
                0.1 * (W$depth == "60") + block[W$block] + bore[W$bore] +
                rnorm(nrow(W), 0, 0.2), 2)

interaction_of <- function(name, formula, reduced, data) {
  cat("\n[", name, "]\n", sep = "")
  f <- fitted_by(formula, data)
  test <- pbkrtest::KRmodcomp(f, fitted_by(reduced, data))$test
  say("F", test["Ftest", "stat"]); say("numerator", test["Ftest", "ndf"])
  say("denominator", test["Ftest", "ddf"]); say("scaling", test["Ftest", "F.scaling"])
  say("p", test["Ftest", "p.value"])
  means <- suppressMessages(emmeans(f, ~ family | station, lmer.df = "kenward-roger"))
  s <- as.data.frame(summary(rbind(pairs(means, reverse = FALSE)), adjust = "sidak",
                             infer = c(TRUE, TRUE)))
  for (i in seq_len(nrow(s))) for (k in c("estimate", "SE", "df", "lower.CL", "upper.CL", "p.value"))
    say(paste(s$station[i], k), s[i, k])
}
interaction_of("interaction, one candidate block", wall ~ family * station + depth + (1 | block/bore),
               wall ~ family + station + depth + (1 | block/bore), W)
W2 <- W; W2$family <- ifelse(W2$block %in% c("b6", "b7", "b8"), "trophy", "works")
interaction_of("interaction, three candidate blocks", wall ~ family * station + (1 | block/bore),
               wall ~ family + station + (1 | block/bore), W2)
interaction_of("interaction, places spread within blocks",
               wall ~ family * station + (1 | block/bore) + (1 | block:station),
               wall ~ family + station + (1 | block/bore) + (1 | block:station), W2)

unequal <- function(name, data) {
  cat("\n[", name, "]\n", sep = "")
  f <- lme(thickness ~ source, data,
           random = list(lot = pdDiag(~ 0 + source), wafer = pdDiag(~ 0 + source)),
           weights = varIdent(form = ~ 1 | source),
           control = lmeControl(opt = "nlminb", msTol = 1e-12, tolerance = 1e-10, maxIter = 500,
                                msMaxIter = 500, niterEM = 100, returnObject = TRUE))
  equal <- lme(thickness ~ source, data, random = ~ 1 | lot/wafer)
  v <- suppressWarnings(as.numeric(VarCorr(f)[, "Variance"]))
  v <- v[!is.na(v)]
  ratio <- coef(f$modelStruct$varStruct, unconstrained = FALSE, allCoef = TRUE)
  for (s in c("1", "2")) {
    say(paste("lot", s), v[as.numeric(s)]); say(paste("wafer", s), v[2 + as.numeric(s)])
    say(paste("residual", s), (f$sigma * ratio[[s]])^2)
  }
  say("criterion", -2 * as.numeric(logLik(f)))
  say("criterion equal", -2 * as.numeric(logLik(equal)))
  say("estimate", fixef(f)[[2]]); say("se", sqrt(vcov(f)[2, 2]))
}
unequal("unequal oxide", O)
unequal("unequal subset u1", U)

cat("\n[penicillin]\n")
f <- fitted_by(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin)
variances(f); say("criterion", lme4::REMLcrit(f)); kr("intercept", f, 1)

cat("\n[machines]\n")
f <- fitted_by(score ~ Machine + (1 | Worker) + (1 | Worker:Machine), Machines)
variances(f); say("criterion", lme4::REMLcrit(f)); kr("intercept", f, c(1, 0, 0))
kr("difference", f, c(0, -1, 1))

# Without worker 1 on machine B, worker 2 on C, worker 3 on A and B, the scaling of F is not 1.
gaps <- paste(Machines$Worker, Machines$Machine) %in% c("1 B", "2 C", "3 A", "3 B")
V <- droplevels(Machines[!gaps, ])
cat("\n[machines with gaps]\n")
f <- fitted_by(score ~ Machine + (1 | Worker) + (1 | Worker:Machine), V)
g <- fitted_by(score ~ 1 + (1 | Worker) + (1 | Worker:Machine), V)
test <- pbkrtest::KRmodcomp(f, g)$test
say("F", test["Ftest", "stat"]); say("numerator", test["Ftest", "ndf"])
say("denominator", test["Ftest", "ddf"]); say("scaling", test["Ftest", "F.scaling"])
say("p", test["Ftest", "p.value"])

# Blocks of two families, read with eight gauges by six operators, of which a part is left out.
set.seed(7)
K <- expand.grid(operator = paste0("o", 1:6), gauge = paste0("g", 1:8), block = paste0("b", 1:9),
                 stringsAsFactors = FALSE)
K <- K[(seq_len(nrow(K)) * 104729) %% 17 < 5, ]
K$family <- ifelse(K$block %in% c("b1", "b2", "b3"), "trophy", "works")
effects <- function(labels, sd) { u <- unique(labels); setNames(rnorm(length(u), 0, sd), u) }
K$wall <- round(6 + 0.4 * (K$family == "trophy") + effects(K$block, 0.25)[K$block] +
                effects(K$gauge, 0.15)[K$gauge] + effects(K$operator, 0.10)[K$operator] +
                rnorm(nrow(K), 0, 0.08), 2)
cat("\n[gauges and operators]\n")
f <- fitted_by(wall ~ family + (1 | block) + (1 | gauge) + (1 | operator), K)
variances(f); say("criterion", lme4::REMLcrit(f)); kr("works less trophy", f, c(0, 1))
cat("\n[readings]\noperator,gauge,block,family,wall\n")
cat(paste(K$operator, K$gauge, K$block, K$family, sprintf("%.2f", K$wall), sep = ","), sep = "\n")
