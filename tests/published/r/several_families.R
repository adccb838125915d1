# Witness for several families: base R (aov, oneway.test, TukeyHSD, kruskal.test, bartlett.test,
# fligner.test) and multcomp on R's own data sets, printed first.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "multcomp", as.character(packageVersion("multcomp")), "2026-11-25\n")
plants <- split(PlantGrowth$weight, PlantGrowth$group)
for (g in names(plants)) say(paste0("plants_", g), plants[[g]])
fit <- aov(weight ~ group, PlantGrowth)
a <- anova(fit)
say("plants_one_way_F_p_ssb_ssw", a$`F value`[1], a$`Pr(>F)`[1], a$`Sum Sq`)
w <- oneway.test(weight ~ group, PlantGrowth)
say("plants_welch_F_df1_df2_p", w$statistic, w$parameter, w$p.value)
uneven <- data.frame(y = c(plants$ctrl[1:4], plants$trt1, plants$trt2[1:7]),
                     g = factor(rep(c("ctrl", "trt1", "trt2"), c(4, 10, 7))))
w <- oneway.test(y ~ g, uneven)
say("uneven_welch_F_df1_df2_p", w$statistic, w$parameter, w$p.value)
h <- TukeyHSD(aov(y ~ g, uneven))$g
for (r in rownames(h)) say(paste0("uneven_tukey_", r), h[r, ])
k <- kruskal.test(y ~ g, uneven); say("uneven_kruskal_H_p", k$statistic, k$p.value)
library(multcomp); set.seed(20261125)
d <- glht(aov(y ~ g, uneven), linfct = mcp(g = "Dunnett"))
s <- summary(d, test = adjusted(type = "single-step", abseps = 1e-7, maxpts = 1e6))$test
say("uneven_dunnett_estimates", s$coefficients)
say("uneven_dunnett_p", s$pvalues)
ci <- confint(d, calpha = qmvt(0.95, tail = "both.tails", df = 18, corr = cov2cor(vcov(d)),
              algorithm = GenzBretz(abseps = 1e-7, maxpts = 1e6))$quantile)$confint
say("uneven_dunnett_low", ci[, 2]); say("uneven_dunnett_high", ci[, 3])
sprays <- split(InsectSprays$count, InsectSprays$spray)
for (g in names(sprays)) say(paste0("sprays_", g), sprays[[g]])
f <- fligner.test(count ~ spray, InsectSprays); say("sprays_fligner_p", f$statistic, f$p.value)
b <- bartlett.test(count ~ spray, InsectSprays); say("sprays_bartlett_p", b$statistic, b$p.value)
# Brown and Forsythe written out: analysis of variance of distances from the family median.
z <- with(InsectSprays, abs(count - ave(count, spray, FUN = median)))
a <- anova(lm(z ~ InsectSprays$spray)); say("sprays_median_F_p", a$`F value`[1], a$`Pr(>F)`[1])
# Dunn written out on mid-ranks, ties corrected, p by Holm.
dunn <- function(y, g) {
  r <- rank(y); n <- length(y); t <- table(y); m <- tapply(r, g, mean); k <- table(g)
  v <- (n * (n + 1) - sum(t^3 - t) / (n - 1)) / 12
  out <- combn(names(m), 2, function(p) (m[[p[2]]] - m[[p[1]]]) / sqrt(v * sum(1 / k[p])))
  list(z = out, p = p.adjust(2 * pnorm(-abs(out)), "holm"))
}
d <- dunn(InsectSprays$count, InsectSprays$spray)
say("sprays_dunn_z", d$z); say("sprays_dunn_holm", d$p)
# Four families of three (scipy's tests quote 0.036407 from default settings): finer integration.
y <- c(55, 47, 48, 55, 64, 64, 55, 49, 52, 50, 44, 41); g <- rep(c("o", "a", "b", "c"), each = 3)
m <- tapply(y, g, mean); s2 <- sum((y - m[g])^2) / 8
t <- (m[c("a", "b", "c")] - m["o"]) / sqrt(s2 * 2 / 3); r <- matrix(0.5, 3, 3); diag(r) <- 1
say("three_dunnett_p", sapply(abs(t), function(q) 1 - pmvt(rep(-q, 3), rep(q, 3), df = 8, corr = r,
    algorithm = GenzBretz(abseps = 1e-8, maxpts = 5e6))))
