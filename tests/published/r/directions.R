# Witness for circular statistics (package circular) and for mean vectors and nested scatter (base R).
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
suppressMessages(library(circular))
cat("#", R.version.string, "circular", as.character(packageVersion("circular")), "2026-11-25\n")
trees <- c(45, 55, 81, 96, 110, 117, 132, 154)
x <- circular(trees, units = "degrees")
say("trees_mean", as.numeric(mean(x))); say("trees_length", rho.circular(x))
say("trees_sd", as.numeric(sd.circular(x)) * 180 / pi)
say("trees_wilkie", rayleigh.test(x)$p.value)
fit <- mle.vonmises(circular(trees * pi / 180), bias = FALSE)
say("trees_kappa", fit$kappa, fit$se.kappa)
say("trees_kappa_small", mle.vonmises(circular(trees * pi / 180), bias = TRUE)$kappa)
w <- circular(wind, units = "radians")
say("wind", wind)
fit <- mle.vonmises(w)
say("wind_mean_deg", (as.numeric(fit$mu) * 180 / pi) %% 360)
say("wind_length", rho.circular(w)); say("wind_kappa", fit$kappa, fit$se.kappa)
# Two flowers of iris as vectors (Anderson 1935): sepal width, petal width.
d <- iris[iris$Species != "setosa", c("Sepal.Width", "Petal.Width", "Species")]
d$Species <- factor(d$Species)
Y <- as.matrix(d[, 1:2]); V <- Y[d$Species == "versicolor", ]; G <- Y[d$Species == "virginica", ]
say("one_sample_F", summary(manova(sweep(V, 2, c(2.8, 1.3)) ~ 1), intercept = TRUE,
    test = "Hotelling-Lawley")$stats[1, c("approx F", "num Df", "den Df", "Pr(>F)")])
s <- summary(manova(Y ~ d$Species), test = "Hotelling-Lawley")$stats
say("two_sample_F", s[1, c("approx F", "num Df", "den Df", "Pr(>F)")])
# Nested scatter: 8 blocks, 3 bores, 2 depths; written out so that it can be fed in.
set.seed(20261125)
block <- rep(1:8, each = 6); bore <- rep(rep(1:3, each = 2), 8)
x <- rnorm(8)[block] + rnorm(24, sd = 0.6)[(block - 1) * 3 + bore] + rnorm(48, sd = 0.3)
y <- rnorm(8, sd = 0.5)[block] + rnorm(24, sd = 0.4)[(block - 1) * 3 + bore] + rnorm(48, sd = 0.3)
x <- round(x, 3); y <- round(y, 3)
say("nested_x", x); say("nested_y", y)
f <- factor(block); g <- factor(paste(block, bore))
m <- manova(cbind(x, y) ~ f + g)
ss <- summary(m)$SS
say("nested_ms_block", ss[[1]] / 7); say("nested_ms_bore", ss[[2]] / 16)
say("nested_ms_residual", ss[[3]] / 24)
say("bore_wilks_F", summary(m, test = "Wilks")$stats[2, c("approx F", "num Df", "den Df", "Pr(>F)")])
# Block against bore within block: the bore means as units.
bx <- tapply(x, g, mean); by <- tapply(y, g, mean)
bf <- factor(sub(" .*", "", names(bx)))
say("block_wilks_F", summary(manova(cbind(bx, by) ~ bf),
    test = "Wilks")$stats[1, c("approx F", "num Df", "den Df", "Pr(>F)")])
# One coordinate alone, unbalanced (every seventh left out): ANOVA estimators by nested means.
keep <- seq_along(x) %% 7 != 0
library(nlme)
u <- lme(x ~ 1, random = ~ 1 | f / g, method = "REML")
say("reml_x_sd", as.numeric(VarCorr(u)[c(2, 4, 5), "StdDev"]))
# Second harmonic: monthly temperatures (nottem), against the first alone.
month <- rep(0:11, 20) * 30 * pi / 180
one <- lm(as.numeric(nottem) ~ cos(month) + sin(month))
two <- update(one, . ~ . + cos(2 * month) + sin(2 * month))
say("nottem", as.numeric(nottem))
say("nottem_two", coef(two)); say("nottem_two_se", sqrt(diag(vcov(two))))
a <- anova(one, two); say("nottem_F", a$F[2], a$`Pr(>F)`[2])
# Unequal angles and weights.
deg <- c(10, 75, 150, 200, 290, 340); v <- c(4.41, 4.05, 4.32, 4.66, 4.98, 4.71); wt <- c(1, 2, 1, 3, 1, 2)
fit <- lm(v ~ cos(deg * pi / 180) + sin(deg * pi / 180), weights = wt)
say("weighted", coef(fit)); say("weighted_cov", vcov(fit)); say("weighted_sigma", sigma(fit))
