# Witness for tests/published/test_nested_published.py: REML, Satterthwaite and Kenward-Roger by
# lme4, lmerTest and pbkrtest. Run: Rscript nested.R > nested.txt
suppressPackageStartupMessages({
  library(lme4); library(lmerTest); library(pbkrtest)
})
data(Oxide, Rail, package = "nlme"); data(Dyestuff, Dyestuff2, Pastes, package = "lme4")
cat("date 2026-11-25;", R.version.string, "\n")
for (p in c("lme4", "lmerTest", "pbkrtest", "nlme")) cat(p, as.character(packageVersion(p)), "\n")

tight <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e6),
                     calc.derivs = FALSE, check.conv.singular = "ignore")
num <- function(x) formatC(x, digits = 9, format = "g", flag = "#")

report <- function(name, formula, data, row = NULL) {
  fit <- lmerTest::lmer(formula, data, REML = TRUE, control = tight)
  v <- as.data.frame(VarCorr(fit))
  cat("\n[", name, "]\n", sep = "")
  cat("readings", nrow(data), "\n")
  for (i in seq_len(nrow(v))) cat("variance", v$grp[i], num(v$vcov[i]), "\n")
  cat("criterion", num(lme4::REMLcrit(fit)), "\n")
  b <- lme4::fixef(fit)
  if (is.null(row)) row <- as.numeric(seq_along(b) == 1)
  cat("estimate", num(sum(row * b)), "\n")
  cat("se_model", num(sqrt(drop(t(row) %*% as.matrix(vcov(fit)) %*% row))), "\n")
  s <- lmerTest::contest1D(fit, row, ddf = "Satterthwaite")
  cat("df_satterthwaite_observed", num(s[["df"]]), "\n")
  cat("p_satterthwaite_observed", num(s[["Pr(>|t|)"]]), "\n")
  adjusted <- pbkrtest::vcovAdj(fit)
  cat("se_kr", num(sqrt(drop(t(row) %*% as.matrix(adjusted) %*% row))), "\n")
  df <- pbkrtest::Lb_ddf(row, vcov(fit), adjusted)
  cat("df_kr", num(df), "\n")
  t_kr <- sum(row * b) / sqrt(drop(t(row) %*% as.matrix(adjusted) %*% row))
  cat("p_kr", num(2 * pt(-abs(t_kr), df)), "\n")
}

O <- data.frame(thickness = Oxide$Thickness, source = factor(Oxide$Source),
                lot = factor(as.character(Oxide$Lot)), wafer = as.character(Oxide$Wafer),
                site = as.character(Oxide$Site))
O$wafer <- factor(paste(O$lot, O$wafer))
within_lot <- as.character(Oxide$Wafer)

report("oxide", thickness ~ 1 + (1 | lot/wafer), O)
report("oxide source", thickness ~ source + (1 | lot/wafer), O, c(0, 1))

u1 <- !((O$lot == "3" & within_lot %in% c("2", "3")) | (O$lot == "8" & within_lot == "3") |
        (O$lot == "5" & O$site == "3") |
        (O$lot == "1" & within_lot == "1" & O$site %in% c("2", "3")))
report("oxide subset u1", thickness ~ source + (1 | lot/wafer), droplevels(O[u1, ]), c(0, 1))

# Lots 1, 3, 4, 5 and 6 without lot 3 wafer 3 and without site 3 of lot 5: no variance between lots
u2 <- O$lot %in% c("1", "3", "4", "5", "6") & !(O$lot == "3" & within_lot == "3") &
  !(O$lot == "5" & O$site == "3")
report("oxide boundary subset", thickness ~ source + (1 | lot/wafer), droplevels(O[u2, ]), c(0, 1))

report("oxide wafers only", thickness ~ source + site + (1 | wafer), O, c(0, 1, 0, 0))
report("dyestuff", Yield ~ 1 + (1 | Batch), Dyestuff)
report("dyestuff2", Yield ~ 1 + (1 | Batch), Dyestuff2)
report("pastes", strength ~ 1 + (1 | batch/cask), Pastes)
report("rail", travel ~ 1 + (1 | Rail), Rail)

# An invented unbalanced table: one candidate block against seven, bores of 4 to 11 readings,
# three stations and two depths, of which the rows with (7919 i) mod 13 at most 4 are left out.
set.seed(20261125)
G <- expand.grid(depth = c("10", "60"), station = c("front", "rear", "thrust"), bore = 1:4,
                 block = paste0("b", 1:8), repeat_ = 1:2, stringsAsFactors = FALSE)
G$family <- ifelse(G$block == "b8", "trophy", "works")
G <- G[(seq_len(nrow(G)) * 7919) %% 13 > 4, ]
G$bore <- paste(G$block, G$bore)
block <- setNames(rnorm(8, 0, 0.25), paste0("b", 1:8)); bore <- setNames(rnorm(32, 0, 0.30),
                                                                        sort(unique(G$bore)))
G$wall <- round(6 + 0.9 * (G$family == "trophy") - 0.3 * (G$station == "thrust") +
                0.1 * (G$depth == "60") + block[G$block] + bore[G$bore] +
                rnorm(nrow(G), 0, 0.2), 2)
report("one candidate block", wall ~ family + station + depth + (1 | block/bore), G,
       c(0, -1, 0, 0, 0))
report("station difference", wall ~ family + station + depth + (1 | block/bore), G,
       c(0, 0, -1, 1, 0))
cat("\n[walls]\nfamily,block,bore,station,depth,wall\n")
cat(paste(G$family, G$block, G$bore, G$station, G$depth, sprintf("%.2f", G$wall), sep = ","),
    sep = "\n")
