# Witness for tests/published/test_verdicts.py: claims of data/bench and of the real studies, from their
# raw files. Calibrations by line, ratio, speed and warmth; hardness by the formula of the impression
# and a Deming line; parts added to masses; exact unconditional tests of shares.
# Run from the project folder: Rscript tests/published/r/verdicts_bench.R
source("tests/published/r/verdicts_functions.R")
d <- read_raw("bench"); d$v <- num(d$value); d$label <- d$family
d$family <- ifelse(d$family == "trophy", "cand", "ref")
cal <- read_raw("bench", "calibrations.csv"); cal$x <- num(cal$reference); cal$s <- num(cal$indicated)

# walls
e <- d[d$quantity == "wall_thickness" & !is.na(d$v) & d$sampling != "search" & d$contact != "doubtful", ]
L <- list()
for (n in c("works-steps", "trophy-two", "K11-warm")) {
  k <- cal[cal$calibration == n, ]; f <- lm(s ~ x, k); freedom <- nrow(k) - length(unique(k$x))
  s2 <- max(sum((k$s - ave(k$s, k$x))^2) / freedom, 0.01^2 / 12)
  L[[n]] <- list(a = coef(f)[[1]], b = coef(f)[[2]], V = s2 * solve(crossprod(cbind(1, k$x))), df = freedom,
                 x = k$x, piece = k$piece, warm = 1)
}
L[["K11-warm"]]$warm <- 1 - 0.0003 * (60 - 20)
one <- cal[cal$calibration == "K03-piece", ]
L[["K03-piece"]] <- list(a = 0, b = mean(one$s) / 5, warm = 1)
L[["L5-speed"]] <- list(a = 0, b = 5920 / 4720, warm = 1)
e$y <- NA
for (n in names(L)) { i <- e$calibration == n; e$y[i] <- (e$v[i] - L[[n]]$a) / L[[n]]$b * L[[n]]$warm }
at <- e$station; e <- e[at %in% at[e$family == "cand"] & at %in% at[e$family == "ref"], ]
e$one <- factor(paste(e$family, e$block, e$bore)); e$station <- factor(e$station)
contrasts(e$station) <- contr.sum(nlevels(e$station))
f <- lm(y ~ 0 + one + station, e); u <- levels(e$one); X <- model.matrix(f)
b <- tapply(coef(f)[seq_along(u)], sub(" \\S+$", "", u), mean); cand <- grepl("^cand", names(b))
w <- drop(X %*% solve(crossprod(X), c(ifelse(grepl("^cand", u), 1 / 12, -1 / 24), rep(0, ncol(X) - length(u)))))
budget <- function(blocks_vary) {
  scatter <- c(); freedom <- c(); piece <- c()
  add <- function(name, v) piece[name] <<- sum(piece[name], v, na.rm = TRUE)
  for (n in names(L)) {
    i <- e$calibration == n; l <- L[[n]]; W <- sum(w[i]); M <- sum(w[i] * e$y[i]) / l$warm
    mine <- !(blocks_vary && length(unique(e$block[i])) == 1)
    if (!is.null(l$V)) {
      if (mine) { scatter[n] <- sqrt(drop(c(W, M) %*% l$V %*% c(W, M))) / l$b * l$warm; freedom[n] <- l$df }
      for (p in unique(l$piece)) { j <- l$piece == p; centre <- mean(l$x)
        h <- mean(j) * W + sum(l$x[j] - centre) * (M - W * centre) / sum((l$x - centre)^2)
        add(p, 0.01 * l$warm * h) }
    }
    if (n == "K03-piece") { if (mine) { scatter[n] <- sd(one$s) / sqrt(2) * M / mean(one$s); freedom[n] <- 1 }
      add("WS5", 0.01 * M / 5); add("zero of K03", 0.05 / l$b * (M / 5 - W)) }
    if (n == "K11-warm") add("warmth", M * sqrt((0.00005 * 40)^2 + (0.0003 * 3)^2))
    if (n == "L5-speed") { add("speed", M * 40 / 4720); add("zero of L5", 0.05 / l$b * W) }
  }
  v <- sum(scatter^2) + sum(piece^2); list(u = sqrt(v), df = v^2 / sum(scatter^4 / freedom))
}
s <- budget(TRUE)
for (own in c(FALSE, TRUE)) by_t("bench", "walls-thicker", if (own) "decides" else "nested, common spreads",
                                 widen(nested(e, "station", own), s$u, s$df), "greater", 0)
rivals("bench", "walls-thicker", as.numeric(b[cand]), as.numeric(b[!cand]), s$u, s$df, "greater", 0)
s <- budget(FALSE)
cell <- interaction(e[c("block", "bore", "station", "calibration", "operator")], drop = TRUE)
df <- nrow(e) - nlevels(cell); s2 <- sum((e$y - ave(e$y, cell))^2) / df
r <- list(est = sum(w * e$y), se = sqrt(s2 * sum(w^2)), df = df)
by_t("bench", "walls-of-these", "decides", widen(r, s$u, s$df), "greater", 0.2)
p <- aggregate(y ~ family + bore + station, aggregate(y ~ family + block + bore + station, e, mean), mean)
p <- merge(p[p$family == "cand", ], p[p$family == "ref", ], by = c("bore", "station"))
t <- t.test(p$y.x, p$y.y, paired = TRUE)
r <- list(est = as.numeric(t$estimate), se = t$stderr, df = as.numeric(t$parameter))
by_t("bench", "walls-of-these", "paired by place", widen(r, s$u, s$df), "greater", 0.2)

g <- aggregate(y ~ family + block + bore + station, e, mean); g$below <- g$y < 4
shares_apart("bench", "fewer-thin", g, "less", 0)

# masses: main caps 0.55 kg and core plugs 0.04 kg were off K04 and L3
a <- d[d$quantity == "mass", ]
a$y <- a$v + ifelse(a$block == "K04", 0.55, 0) + ifelse(a$block == "L3", 2 * 0.55 + 3 * 0.04, 0)
x <- a$y[a$label == "trophy"]; y <- a$y[a$label == "works"]
u <- sqrt((0.01 * (2 / 6 - 1 / 12))^2 + (0.005 * 3 / 6)^2)
by_t("bench", "heavier", "nested, common spreads", widen(student(x, y, TRUE), u), "greater", 1)
by_t("bench", "heavier", "decides", widen(student(x, y, FALSE), u), "greater", 1)
rivals("bench", "heavier", x, y, u, Inf, "greater", 1)
z <- a$y[a$label == "light_trial"] - a$y[a$label == "heavy_trial"]
by_t("bench", "trial-lighter", "decides", list(est = z, se = 0.05 * sqrt(2), df = Inf), "less", 0.2)

# hardness: to 1 HB where a step of 0.01 mm moves it by that much, else to 0.1 HB
h <- d[d$quantity == "hardness" & !is.na(d$v) & d$unit != "HB" & !(d$unit == "mm" & d$v > 6), ]
root <- sqrt(pmax(0, 100 - h$v^2)); hb <- 6000 / (pi * 10 * (10 - root)); step <- hb * h$v / (root * (10 - root)) / 100
co <- read_raw("bench", "correlations.csv"); S <- num(co$shown); H <- num(co$value); k <- (4 / 1.5)^2
slope <- (var(S) - k * var(H) + sqrt((var(S) - k * var(H))^2 + 4 * k * cov(H, S)^2)) / (2 * cov(H, S))
zero <- mean(S) - slope * mean(H)
h$y <- ifelse(h$unit == "mm", ifelse(step >= 1, round(hb), round(hb, 1)), (h$v - zero) / slope)
w2 <- 1 / (16 + slope^2 * 2.25)                   # York's errors of the line, all points alike
adjusted <- w2 * (H * 16 + slope * 2.25 * (S - zero))
V <- solve(crossprod(cbind(1, adjusted)) * w2) * max(1, sum((S - zero - slope * H)^2) * w2 / 10)
for (n in c("gauge", "station")) { h[[n]] <- factor(h[[n]]); contrasts(h[[n]]) <- contr.sum(2) }
h$one <- factor(paste(h$family, h$block)); f <- lm(y ~ 0 + one + gauge + station, h); u <- levels(h$one)
cand <- grepl("^cand", u); x <- as.numeric(coef(f)[seq_along(u)][cand]); y <- as.numeric(coef(f)[seq_along(u)][!cand])
X <- model.matrix(f); w <- drop(X %*% solve(crossprod(X), c(ifelse(cand, 1 / 6, -1 / 12), 0, 0))) * (h$gauge == "lt1")
u <- sqrt(drop(c(sum(w), sum(w * h$y)) %*% V %*% c(sum(w), sum(w * h$y)))) / slope
for (own in c(FALSE, TRUE)) by_t("bench", "harder", if (own) "decides" else "nested, common spreads",
                                 widen(nested(h, c("gauge", "station"), own, "block"), u, 10), "greater", 0)
rivals("bench", "harder", x, y, u, 10, "greater", 0)

# features: blocks by what most of three looks say; score z at a difference, its largest tail over the
# share nobody knows
for (q in c("fourth_web", "gallery")) {
  z <- d[d$quantity == q & d$value != "glossy", ]; hit <- if (q == "gallery") z$value != "smooth" else z$value == "yes"
  yes <- tapply(hit, z$block, mean) > 0.5; who <- tapply(z$family, z$block, `[`, 1)
  x1 <- sum(yes[who == "cand"]); n1 <- sum(who == "cand"); x2 <- sum(yes[who == "ref"]); n2 <- sum(who == "ref")
  score <- function(a, b, m) {
    ll <- function(p) dbinom(a, n1, p + m, TRUE) + dbinom(b, n2, p, TRUE)
    ends <- c(max(0, -m), min(1, 1 - m)); p <- optimize(ll, ends, maximum = TRUE, tol = 1e-12)$maximum
    for (k in ends) if (is.finite(ll(k)) && ll(k) > ll(p)) p <- k
    v <- (p + m) * (1 - p - m) / n1 + p * (1 - p) / n2; off <- a / n1 - b / n2 - m
    if (v > 1e-14) off / sqrt(v) else sign(off) * 1e6
  }
  tail <- function(m, above) {
    t <- outer(0:n1, 0:n2, Vectorize(function(a, b) score(a, b, m))); s <- score(x1, x2, m)
    t <- if (above) t >= s - 1e-6 else t <= s + 1e-6
    max(sapply(seq(max(0, -m), min(1, 1 - m), length = 2001), function(p)
      sum(outer(dbinom(0:n1, n1, p + m), dbinom(0:n2, n2, p))[t])))
  }
  est <- x1 / n1 - x2 / n2; up <- est > 0; end <- function(g, lo, hi) uniroot(g, c(lo, hi), tol = 1e-8)$root
  name <- c(fourth_web = "has-the-web", gallery = "gallery-smoother")[[q]]
  out("bench", name, "decides", est, NA, NA, end(function(m) tail(m, TRUE) - 0.025, -0.99, est - 1e-4),
      end(function(m) tail(m, FALSE) - 0.025, est + 1e-4, 0.99), 2 * tail(0, up))
  g <- function(m) 2 * pnorm(-abs(score(x1, x2, m))) - 0.05
  out("bench", name, "score test (Farrington and Manning)", est, NA, NA, end(g, -0.999, est - 1e-6),
      end(g, est + 1e-6, 0.999), 2 * pnorm(-abs(score(x1, x2, 0))))
}

# real studies
real <- function(study, claim, cand, ref, direction, m, own, fixed = character(0), nest = NULL) {
  r <- read.csv(file.path("data", study, "readings.csv")); r$y <- r$value
  r$family <- ifelse(r$family == cand, "cand", "ref"); if (is.null(r$bore)) r$bore <- ""
  b <- aggregate(y ~ family + block, aggregate(y ~ family + block + bore, r, mean), mean)
  x <- b$y[b$family == "cand"]; y <- b$y[b$family == "ref"]
  for (each in c(FALSE, TRUE)) {
    found <- if (is.null(nest)) student(x, y, !each) else if (each)
      nested(r, fixed, TRUE, if (grepl("bore", nest)) c("block", "bore") else "block") else by_lme4(r, fixed, nest)
    name <- paste("nested,", if (each) "own" else "common", "spreads")
    by_t(study, claim, if (each == own) "decides" else name, found, direction, m)
  }
  rivals(study, claim, x, y, 0, Inf, direction, m)
}
real("oxide", "sources-differ", "source-2", "source-1", "different", 0, FALSE, nest = "(1 | block/bore)")
real("oxide", "sources-same", "source-2", "source-1", "same", 30, FALSE, nest = "(1 | block/bore)")
real("growth", "sexes-differ", "female", "male", "different", 0, FALSE, "station", "(1 | block)")
real("growth", "girls-four-less", "male", "female", "greater", 4, FALSE, "station", "(1 | block)")
real("mileage", "mileage-differs", "japan", "us", "different", 0, FALSE)
real("mileage", "mileage-eight-more", "japan", "us", "greater", 8, FALSE)
real("mileage", "mileage-differs-anyhow", "japan", "us", "different", 0, TRUE)
