# Witness for tests/published/test_verdicts.py: what stands beside the verdicts of the shipped studies and
# verdicts_demo.R, _bench.R and _figures.R leave out, from the raw files: the error of reading taken off
# spreads, extreme values by their own likelihood, thinnest places and shares by the nested model (mean
# squares as quadratic forms, pivots drawn, blocks integrated), ranks by listing sums, features by
# enumeration. Run from the project folder:
# Rscript tests/published/r/verdicts_beside.R
functions_only <- TRUE
source("tests/published/r/verdicts_demo.R")

# spreads, the variance repeats leave in each block mean (its weights squared) taken off
error_off <- function(claim, q, cand, direction, m) {
  e <- compared(q, cand, "works"); f <- footing(e); s2 <- repeats(e)$variance
  for (k in f$fixed) { e[[k]] <- factor(e[[k]]); contrasts(e[[k]]) <- contr.sum(nlevels(e[[k]])) }
  e$one <- factor(paste(e$family, e$block, e$bore, sep = "/"))
  X <- model.matrix(reformulate(c("0 + one", f$fixed)), e)
  A <- (solve(crossprod(X)) %*% t(X))[seq_len(nlevels(e$one)), ]                # bores from readings
  block <- sub("^([^/]*/[^/]*)/.*", "\\1", levels(e$one))
  A <- rowsum(A, block) / as.numeric(table(block)); family <- sub("/.*", "", rownames(A))
  left <- s2 * tapply(rowSums(A^2), family, mean)[c("cand", "ref")]
  x <- f$x; y <- f$y; n <- c(length(x), length(y)); s <- c(sd(x), sd(y))
  pooled <- sum((n - 1) * s^2) / sum(n); k <- sum((x - mean(x))^4, (y - mean(y))^4) / sum(n) / pooled^2
  df <- pmin(2 * n / (k - (n - 3) / (n - 1)), n - 1); s <- sqrt(s^2 - left); set.seed(15); many <- 2e6
  t <- s[[1]] / sqrt(rchisq(many, df[1]) / df[1]) - s[[2]] / sqrt(rchisq(many, df[2]) / df[2])
  p <- p_of(function(a) mean(t <= a), function(a) mean(t >= a), function(a) 2 * min(mean(t <= a), mean(t >= a)),
            direction, m)
  ends <- quantile(t, c(0.025, 0.975))
  out("demo", claim, "error of reading taken off", s[[1]] - s[[2]], NA, NA, ends[1], ends[2], p)
}
error_off("trophy-walls-even", "wall_thickness", "trophy", "less", 0)
error_off("deepdeck-decks-alike", "deck_thickness", "deepdeck", "same", 0.15)

grid <- function(e) {
  g <- aggregate(cbind(y, n = 1) ~ family + block + bore + station + depth, e, sum); g$y <- g$y / g$n
  g$place <- factor(paste(g$station, g$depth)); g
}
least_of <- function(g, size) {
  g <- g[ave(g$y, g$family, g$block, FUN = length) >= 0.9 * size, ]
  least <- aggregate(y ~ family + block, g, min); split(setNames(least$y, least$block), least$family)
}

# least places, of the readings hunted for too
walls <- function(cand) grid(compared("wall_thickness", cand, "works"))
hunted <- function(claim, cand, direction, m) {
  least <- least_of(walls(cand), 48)
  h <- d[d$quantity == "wall_thickness" & d$sampling == "search" & d$contact != "doubtful", ]
  h <- aggregate(y ~ family + block + bore + station + depth + gauge + calibration + operator, h, mean)
  h <- tapply(h$y, h$block, min)
  low <- lapply(least, function(v) { o <- h[names(v)]; ifelse(is.na(o), v, pmin(v, o)) })
  by_t("demo", claim, "least readings, places hunted for counted in", student(low$cand, low$ref, FALSE),
       direction, m)
}
hunted("trophy-thinnest-thicker", "trophy", "greater", 0)
hunted("deepdeck-thinnest-same", "deepdeck", "same", 0.2)

# extreme values of minima, each known to 0.01 mm: the median block, delta method from optim's Hessian
gev <- function(v) {
  cdf <- function(x, p) { z <- 1 + p[3] * (x - p[1]) / exp(p[2]); exp(-ifelse(z > 0, z, 0)^(-1 / p[3])) }
  nll <- function(p) -sum(log(pmax(cdf(-v + 0.005, p) - cdf(-v - 0.005, p), 1e-300)))
  fit <- optim(c(mean(-v) - 0.45 * sd(v), log(0.78 * sd(v)), -0.1), nll, control = list(reltol = 1e-14, maxit = 9000))
  fit <- optim(fit$par, nll, method = "BFGS", hessian = TRUE, control = list(reltol = 1e-15, ndeps = rep(1e-5, 3)))
  p <- fit$par; middle <- function(p) -(p[1] + exp(p[2]) * (log(2)^(-p[3]) - 1) / p[3])
  slope <- sapply(1:3, function(k) { h <- 1e-5 * (1:3 == k); (middle(p + h) - middle(p - h)) / 2e-5 })
  list(at = middle(p), var = drop(slope %*% solve(fit$hessian) %*% slope))
}
least <- least_of(walls("deepdeck"), 48); fits <- lapply(least, gev)
by_t("demo", "deepdeck-thinnest-same", "extreme values fitted to the least readings",
     list(est = fits$cand$at - fits$ref$at, se = sqrt(fits$cand$var + fits$ref$var),
          df = sum(lengths(least)) - 6), "same", 0.2)

# The nested model of one family: bore means at equal shares of the places, block means over bores; what
# components add to each sum of squares, as traces. Pivots: a sum of squares over a chi-square; a
# component drawn below 0 is taken off those below it
pivots <- function(g, error, many) {
  g$place <- factor(g$place); if (nlevels(g$place) > 1) contrasts(g$place) <- contr.sum(nlevels(g$place))
  g$one <- factor(paste(g$block, g$bore)); X <- model.matrix(~ 0 + one + place, g); b <- nlevels(g$one)
  inner <- solve(crossprod(X)) %*% t(X); A <- inner[seq_len(b), ]; R <- diag(nrow(g)) - X %*% inner
  block <- sub(" .*", "", levels(g$one)); each <- as.numeric(table(block)); n <- length(each)
  B <- rowsum(A, block) / each; C <- A - B[match(block, rownames(B)), ]
  D <- scale(B, scale = FALSE); y <- g$y
  Zb <- outer(g$block, unique(g$block), "==") * 1; Zo <- model.matrix(~ 0 + one, g)
  adds <- function(M) c(sum((M %*% Zb)^2), sum((M %*% Zo)^2), sum(M^2))
  df <- c(n - 1, b - n, nrow(g) - ncol(X)); E <- rbind(adds(D), adds(C), c(0, 0, df[3])) / df
  E[2, 1] <- 0; s <- c(sum((D %*% y)^2), sum((C %*% y)^2), sum((R %*% y)^2)) / df
  ms <- rbind(s, t(replicate(many, s * df / rchisq(3, df)))); comp <- t(solve(E, t(ms)))
  pattern <- c(inner[-seq_len(b), , drop = FALSE] %*% y); pattern <- c(pattern, -sum(pattern))
  z <- matrix(rnorm(many * length(pattern)), many) * sqrt(ms[-1, 3] %o% (1 / as.numeric(table(g$place))))
  pattern <- rbind(pattern, rep(pattern, each = many) + z - rowMeans(z))
  whole <- pmax(rowSums(comp) - error, 0); above <- pmin(pmax(comp[, 1] + comp[, 2], 0), whole)
  top <- pmin(pmax(comp[, 1], 0), above)
  list(mean = mean(B %*% y) + c(0, rnorm(many) * sqrt(ms[-1, 1] / n)), pattern = pattern, block = sqrt(top),
       bore = sqrt(above - top), place = sqrt(whole - above))
}
share_of_places <- function(q, limit)
  rowMeans(pnorm((limit - q$mean - q$pattern) / sqrt(q$block^2 + q$bore^2 + q$place^2)))
u <- seq(-5, 5, 0.25); h <- seq(-2, 1.2, 0.04)
thinnest_of <- function(q) sapply(seq_along(q$mean), function(k) {           # the block's own height is 0 on average
  above <- sapply(u * q$bore[k], function(at) {
    l <- 0; for (o in q$pattern[k, ]) l <- l + pnorm((o + at - h) / q$place[k], log.p = TRUE); exp(l) })
  one <- drop(above %*% dnorm(u)) * 0.25; all <- pmin(one, 1)^4
  q$mean[k] + h[1] - 0.02 + 0.04 * sum(all)
})
by_model <- function(study, claim, what, g, error, figure, direction, m, many) {
  set.seed(25); f <- lapply(c("cand", "ref"), function(k) {
    i <- g$family == k; figure(pivots(g[i, ], error * mean(1 / g$n[i]), many)) })
  est <- f[[1]][1] - f[[2]][1]; t <- (f[[1]] - f[[2]])[-1]; ends <- quantile(t, c(0.025, 0.975))
  p <- p_of(function(a) mean(t <= a), function(a) mean(t >= a),
            function(a) min(1, 2 * min(mean(t <= a), mean(t >= a))), direction, m)
  out(study, claim, what, est, sd(t), NA, ends[1], ends[2], p)
}
model <- "nested model of the iron (drawn)"; below <- function(q) share_of_places(q, 4)
e <- compared("wall_thickness", "deepdeck", "works"); s2 <- repeats(e)$variance; g <- grid(e)
by_model("demo", "deepdeck-fewer-thin", model, g, s2, below, "less", 0, 1e5)
by_model("demo", "deepdeck-places-same", model, g, s2, below, "same", 0.08, 1e5)
by_model("demo", "deepdeck-thinnest-same", "decides, modelled", g, s2, thinnest_of, "same", 0.2, 4000)
e <- compared("wall_thickness", "trophy", "works"); s2 <- repeats(e)$variance
by_model("demo", "trophy-thinnest-thicker", "decides, modelled", grid(e), s2, thinnest_of, "greater", 0, 4000)

# ranks: how many dealings give each sum of midranks, listed block by block
by_ranks <- function(study, claim, x, y, direction, m) {
  tail <- function(a) {
    r <- 2 * rank(round(c(x - a, y), 9)); k <- length(x); ways <- matrix(0, k + 1, sum(r) + 1); ways[1, 1] <- 1
    for (v in r) for (j in k:1) ways[j + 1, ] <- ways[j + 1, ] + c(rep(0, v), head(ways[j, ], -v))
    p <- ways[k + 1, ] / sum(ways[k + 1, ]); at <- sum(r[seq_len(k)]) + 1; c(sum(p[at:length(p)]), sum(p[1:at]))
  }
  p <- p_of(function(a) tail(a)[1], function(a) tail(a)[2], function(a) min(1, 2 * min(tail(a))), direction, m)
  apart <- sort(outer(x, y, "-")); k <- qwilcox(0.025, length(x), length(y))   # Hollander and Wolfe's ends
  out(study, claim, "ranks of block means (Mann-Whitney)", median(apart), NA, NA, apart[k],
      apart[length(apart) + 1 - k], p)
}
for (k in list(list("deepdeck-deck", "deck_thickness", "greater", 1), list("deepdeck-walls-same", "wall_thickness", "same", 0.2),
               list("deepdeck-webs-thicker", "web_thickness", "greater", 0), list("deepdeck-iron-differs", "hardness", "different", 0),
               list("deepdeck-lighter", "mass", "less", 0))) {
  f <- footing(compared(k[[2]], "deepdeck", "works")); by_ranks("demo", k[[1]], f$x, f$y, k[[3]], k[[4]])
}
r <- read.csv("data/growth/readings.csv"); b <- aggregate(value ~ family + block, r, mean)
b <- split(b$value, b$family); by_ranks("growth", "sexes-differ", b$female, b$male, "different", 0)
by_ranks("growth", "girls-four-less", b$male, b$female, "greater", 4)
r <- read.csv("data/mileage/readings.csv"); b <- split(r$value, r$family)
for (k in list(list("mileage-differs", 0), list("mileage-eight-more", 8), list("mileage-differs-anyhow", 0))) {
  w <- wilcox.test(b$japan, b$us, mu = k[[2]], conf.int = TRUE, exact = FALSE)
  out("mileage", k[[1]], "ranks of block means (Mann-Whitney)", median(outer(b$japan, b$us, "-")), NA, NA,
      w$conf.int[1], w$conf.int[2], w$p.value)
}

# the three blocks themselves, place by place
e <- compared("deck_thickness", "trophy", "works"); f <- footing(e); s <- shared(e, f$w, FALSE)
p <- aggregate(y ~ family + block + bore + station + depth, e, mean)
p <- aggregate(y ~ family + bore + station + depth, p, mean)
p <- merge(p[p$family == "cand", ], p[p$family == "ref", ], by = c("bore", "station", "depth"))
t <- t.test(p$y.x, p$y.y, paired = TRUE)
r <- list(est = as.numeric(t$estimate), se = t$stderr, df = as.numeric(t$parameter))
by_t("demo", "deck-of-these-three", "paired by place", widen(r, s$u, s$df), "greater", 2.2)

# bench: shares of places by the model, walls corrected as verdicts_bench.R does
study <- new.env(); invisible(capture.output(sys.source("tests/published/r/verdicts_bench.R", study)))
e <- study$e; cell <- interaction(e[c("block", "bore", "station", "calibration", "operator")], drop = TRUE)
s2 <- sum((e$y - ave(e$y, cell))^2) / (nrow(e) - nlevels(cell)); e$depth <- ""
by_model("bench", "fewer-thin", model, grid(e), s2, below, "less", 0, 1e5)

# features: Wilson's limits squared and added; Fisher; Boschloo by every outcome, over a fine row of shares
wilson <- function(x, n) { z <- qnorm(0.975); (x + z^2 / 2 + c(-1, 1) * z * sqrt(x * (n - x) / n + z^2 / 4)) / (n + z^2) }
for (k in list(list("fourth_web", "has-the-web"), list("gallery", "gallery-smoother"))) {
  z <- study$d[study$d$quantity == k[[1]] & study$d$value != "glossy", ]
  hit <- if (k[[1]] == "gallery") z$value != "smooth" else z$value == "yes"
  yes <- tapply(hit, z$block, mean) > 0.5; who <- tapply(z$family, z$block, `[`, 1)
  x <- c(sum(yes[who == "cand"]), sum(yes[who == "ref"])); n <- c(sum(who == "cand"), sum(who == "ref"))
  a <- wilson(x[1], n[1]); b <- wilson(x[2], n[2]); q <- x / n; est <- q[1] - q[2]
  out("bench", k[[2]], "Newcombe's interval", est, NA, NA, est - sqrt((q[1] - a[1])^2 + (b[2] - q[2])^2),
      est + sqrt((a[2] - q[1])^2 + (q[2] - b[1])^2), NA)
  one <- function(i, j, side) fisher.test(matrix(c(i, n[1] - i, j, n[2] - j), 2), alternative = side)$p.value
  two <- sapply(c("less", "greater"), function(side) one(x[1], x[2], side))
  out("bench", k[[2]], "Fisher's exact test", est, NA, NA, NA, NA, min(1, 2 * min(two)))
  sides <- sapply(c("less", "greater"), function(side) {
    p <- outer(0:n[1], 0:n[2], Vectorize(function(i, j) one(i, j, side))); as <- p <= p[x[1] + 1, x[2] + 1] * (1 + 1e-9)
    max(sapply(seq(0, 1, length = 2001), function(s) sum(outer(dbinom(0:n[1], n[1], s), dbinom(0:n[2], n[2], s))[as]))) })
  out("bench", k[[2]], "Boschloo's exact test", est, NA, NA, NA, NA, min(1, 2 * min(sides)))
}
