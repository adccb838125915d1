# Witness for tests/published/test_verdicts.py: the other claims of data/demo, from its raw files: spreads
# by draws of their fiducial distribution, shares by Newcombe's interval, thinnest places by simulated
# blocks, core shifts by least squares round each bore, printed families by metafor.
# Run from the project folder: Rscript tests/published/r/verdicts_figures.R
functions_only <- TRUE
source("tests/published/r/verdicts_demo.R")
suppressMessages(library(metafor))

# standard deviations of block means; freedom after Shoemaker, never above n - 1. What calibrations share
# moves a deviation by a few thousandths of its error, and is left out
spread <- function(claim, q, cand, direction, m) {
  f <- footing(compared(q, cand, "works")); x <- f$x; y <- f$y; n <- c(length(x), length(y)); s <- c(sd(x), sd(y))
  pooled <- sum((n - 1) * s^2) / sum(n)
  k <- sum((x - mean(x))^4, (y - mean(y))^4) / sum(n) / pooled^2
  df <- pmin(2 * n / (k - (n - 3) / (n - 1)), n - 1)
  set.seed(5); many <- 2e6
  t <- s[1] / sqrt(rchisq(many, df[1]) / df[1]) - s[2] / sqrt(rchisq(many, df[2]) / df[2])
  p <- p_of(function(a) mean(t <= a), function(a) mean(t >= a), function(a) 2 * min(mean(t <= a), mean(t >= a)),
            direction, m)
  ends <- quantile(t, c(0.025, 0.975))
  out("demo", claim, "decides (drawn)", s[1] - s[2], sqrt(sum(s^2 / 2 / df)), NA, ends[1], ends[2], p)
  far <- lapply(list(x, y), function(v) sqrt(pi / 2) * abs(v - median(v)))
  by_t("demo", claim, "distances from the median (Brown and Forsythe)", student(far[[1]], far[[2]], TRUE),
       direction, m)
}
spread("trophy-walls-even", "wall_thickness", "trophy", "less", 0)
spread("deepdeck-decks-alike", "deck_thickness", "deepdeck", "same", 0.15)

# walls by place; a block read at nine tenths of 48 places counts for its least
places <- function(cand) {
  e <- compared("wall_thickness", cand, "works"); e$n <- 1; k <- repeats(e)
  g <- aggregate(cbind(y, n) ~ family + block + bore + station + depth, e, sum); g$y <- g$y / g$n
  g$place <- interaction(g$station, g$depth); list(g = g, variance = k$variance)
}
g <- places("deepdeck")$g; g$below <- g$y < 4
shares_apart("demo", "deepdeck-fewer-thin", g, "less", 0)
shares_apart("demo", "deepdeck-places-same", g, "same", 0.08)

thinnest <- function(claim, cand, direction, m) {
  w <- places(cand); g <- w$g; whole <- ave(g$y, g$family, g$block, FUN = length) >= 0.9 * 48
  least <- aggregate(y ~ family + block, g[whole, ], min)
  by_t("demo", claim, "least readings of whole blocks, Welch",
       student(least$y[least$family == "cand"], least$y[least$family == "ref"], FALSE), direction, m)
  expected <- sapply(c("cand", "ref"), function(f) {
    k <- g[g$family == f, ]; fit <- lmer(y ~ 0 + place + (1 | block/bore), k); v <- as.data.frame(VarCorr(fit))
    sd <- setNames(v$sdcor, v$grp); iron <- sqrt(sd[["Residual"]]^2 - w$variance * mean(1 / k$n)); set.seed(7)
    one <- replicate(30000, min(replicate(4, rnorm(1, 0, sd[["bore:block"]]) + min(fixef(fit) + rnorm(12, 0, iron)))))
    c(mean(one), sd(one) / sqrt(30000))
  })
  out("demo", claim, "expected (drawn)", expected[1, 1] - expected[1, 2], sqrt(sum(expected[2, ]^2)), NA, NA, NA, NA)
}
thinnest("trophy-thinnest-thicker", "trophy", "greater", 0)
thinnest("deepdeck-thinnest-same", "deepdeck", "same", 0.2)

# core shifts: at every depth a mean and a first harmonic, of the bore's depths together one; the second
# harmonic that blocks of a family share at a depth, read off whole circles, is taken off first
e <- compared("wall_thickness", "trophy", "works"); rv <- repeats(e)$variance
length_of <- function(family) {
  p <- e[e$family == family, ]; p$n <- 1
  p <- aggregate(cbind(y, n) ~ block + bore + depth + station, p, sum); p$y <- p$y / p$n
  a <- stations[p$station] * pi / 180; C <- cos(a); S <- sin(a); H <- C^2 - S^2; w <- rep(1, nrow(p))
  circle <- interaction(p$block, p$bore, p$depth, drop = TRUE); full <- ave(p$y, circle, FUN = length) == 4
  for (k in 1:2) {
    shape <- sapply(split(which(full), p$depth[full]), function(i) mean(p$y[i] * H[i])); v <- p$y - shape[p$depth] * H
    left <- sapply(split(seq_along(v), circle), function(i) if (length(i) < 4) c(0, 0) else
      c(sum(w[i] * lm.wfit(cbind(1, C[i], S[i]), v[i], w[i])$residuals^2), length(i) - 3))
    s2 <- sum(left[1, ]) / (sum(left[2, ]) - 3); w <- 1 / (1 - min(rv, s2) / s2 * (1 - 1 / p$n))
  }
  found <- t(sapply(split(seq_along(v), interaction(p$block, p$bore, drop = TRUE)), function(i) {
    d <- factor(p$depth[i]); X <- cbind(model.matrix(~ 0 + d), C[i], S[i]); q <- ncol(X)
    b <- lm.wfit(X, v[i], w[i])$coefficients[q - 1:0]; V <- solve(crossprod(X * sqrt(w[i]))) * s2
    c(b, (V[q, q] + V[q - 1, q - 1]) / 2)
  }))
  size <- sqrt(pmax(0, found[, 1]^2 + found[, 2]^2 - found[, 3]))
  as.numeric(tapply(size, sub("\\..*", "", rownames(found)), mean))
}
x <- length_of("cand"); y <- length_of("ref")
by_t("demo", "trophy-cores-truer", "decides", student(x, y, TRUE), "less", 0)
by_t("demo", "trophy-cores-truer", "nested, own spreads", student(x, y, FALSE), "less", 0)
rivals("demo", "trophy-cores-truer", x, y, 0, Inf, "less", 0)

# two printed sources (Paule-Mandel, Hartung-Knapp, never below the plain error) against block means
yi <- c(12.35, 0.4905 * 25.4); vi <- c(0.31^2 / 14, (0.0102 * 25.4)^2 / 9); m <- rma(yi, vi, method = "PM", test = "adhoc")
b <- d[d$quantity == "deck_thickness" & d$family == "trophy" & d$sampling != "search" & d$contact != "doubtful", ]
b$one <- factor(paste(b$block, b$bore)); b$station <- factor(b$station)
contrasts(b$station) <- contr.sum(nlevels(b$station)); f <- lm(y ~ 0 + one + station, b); u <- nlevels(b$one)
X <- model.matrix(f); w <- drop(X %*% solve(crossprod(X), c(rep(1 / u, u), rep(0, ncol(X) - u))))
s <- shared(b, w, TRUE); b <- tapply(coef(f)[seq_len(u)], sub(" .*", "", levels(b$one)), mean); s2 <- var(b) / 3
r <- list(est = as.numeric(m$beta) - mean(b), se = sqrt(m$se^2 + s2)); r$df <- r$se^4 / (m$se^4 + s2^2 / 2)
by_t("demo", "export-less-deck", "decides", widen(r, s$u), "less", 0)
