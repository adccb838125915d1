# What the witnesses verdicts_*.R share: files read as text, the nested model by written-out matrices,
# rivals, and one line a number: study | claim | analysis | estimate | error | freedom | low | high | p
suppressMessages({library(lme4); library(lmerTest); library(pbkrtest); library(boot)})
cat("#", R.version.string, "lme4", format(packageVersion("lme4")), "pbkrtest",
    format(packageVersion("pbkrtest")), "boot", format(packageVersion("boot")), "2026-11-25\n")

read_raw <- function(study, file = "readings.csv") {
  d <- read.csv(file.path("data", study, file), colClasses = "character", na.strings = character(0),
                check.names = FALSE, fileEncoding = "UTF-8")
  d[] <- lapply(d, trimws)
  names(d) <- trimws(names(d))
  for (k in c("bore", "station", "depth", "gauge", "calibration", "operator", "sampling", "repeat",
              "contact")) if (!k %in% names(d)) d[[k]] <- ""
  d
}
num <- function(x) {
  x <- ifelse(grepl("^[+-]?[0-9]+([.,][0-9]+)?$", x), gsub(",", ".", x), NA)
  as.numeric(x)
}

# Restricted likelihood of family, places, blocks and bores, one small matrix a block; variances
# common or by family, and below zero where that is their maximum. Kenward and Roger's error and
# freedom by their formulas of 1997 (the covariance is linear in its parameters).
nested <- function(d, fixed, own, levels = c("block", "bore")) {
  d$family <- factor(d$family, levels = c("ref", "cand"))
  X <- model.matrix(reformulate(c("family", fixed)), d)
  keep <- qr(X); X <- X[, keep$pivot[seq_len(keep$rank)], drop = FALSE]; y <- d$y
  parts <- split(seq_along(y), interaction(d$family, d$block, drop = TRUE))
  families <- if (own) levels(d$family) else "all"
  comp <- c(levels, "residual"); many <- length(comp); q <- length(families) * many
  V <- lapply(parts, function(i) {
    n <- length(i)
    all <- list(block = matrix(1, n, n), bore = outer(d$bore[i], d$bore[i], "==") * 1,
                residual = diag(n))
    at <- (match(if (own) as.character(d$family[i[1]]) else "all", families) - 1) * many
    list(i = i, at = at + seq_along(comp), S = all[comp])
  })
  criterion <- function(theta, full = FALSE) {
    logdet <- 0; XX <- 0; Xy <- 0; yy <- 0; W <- list()
    for (b in V) {
      C <- tryCatch(chol(Reduce(`+`, Map(`*`, theta[b$at], b$S))), error = function(e) NULL)
      if (is.null(C)) return(1e10)
      w <- chol2inv(C); Xi <- X[b$i, , drop = FALSE]; logdet <- logdet + 2 * sum(log(diag(C)))
      XX <- XX + crossprod(Xi, w %*% Xi); Xy <- Xy + crossprod(Xi, w %*% y[b$i])
      yy <- yy + sum(y[b$i] * (w %*% y[b$i])); if (full) W[[length(W) + 1]] <- w
    }
    beta <- solve(XX, Xy)
    if (full) return(list(beta = beta, Phi = solve(XX), W = W))
    logdet + as.numeric(determinant(XX)$modulus) + yy - sum(beta * Xy)
  }
  s0 <- log(var(residuals(lm(y ~ X - 1))) / 3)
  fits <- lapply(c(0, -3, -8), function(k)
    nlminb(rep(c(rep(s0 + k, many - 1), s0), length(families)), function(l) criterion(exp(l)),
           lower = s0 - 20, upper = s0 + 6,
           control = list(rel.tol = 1e-14, x.tol = 1e-12, eval.max = 2000, iter.max = 1000)))
  best <- fits[[which.min(sapply(fits, `[[`, "objective"))]]
  theta <- exp(best$par)
  if (any(best$par < s0 - 14)) {                     # at zero: let it fall
    for (k in 1:6) theta <- optim(theta, criterion, control = list(parscale = abs(theta) + exp(s0) / 20,
                                  reltol = 1e-16, maxit = 5000))$par
  }
  f <- criterion(theta, TRUE); p <- ncol(X)
  P <- rep(list(matrix(0, p, p)), q); Q <- matrix(list(matrix(0, p, p)), q, q); T2 <- matrix(0, q, q)
  for (j in seq_along(V)) {
    b <- V[[j]]; W <- f$W[[j]]; WX <- W %*% X[b$i, , drop = FALSE]
    for (k in seq_along(comp)) for (l in seq_along(comp)) {
      a <- b$at[k]; s <- b$at[l]
      if (l == 1) P[[a]] <- P[[a]] - t(WX) %*% b$S[[k]] %*% WX
      Q[[a, s]] <- Q[[a, s]] + t(WX) %*% b$S[[k]] %*% W %*% b$S[[l]] %*% WX
      T2[a, s] <- T2[a, s] + sum((W %*% b$S[[k]]) * t(W %*% b$S[[l]]))
    }
  }
  tr <- function(M) sum(diag(M)); Phi <- f$Phi; added <- 0
  I <- outer(1:q, 1:q, Vectorize(function(a, s)
    (T2[a, s] - 2 * tr(Phi %*% Q[[a, s]]) + tr(Phi %*% P[[a]] %*% Phi %*% P[[s]])) / 2))
  Wv <- solve(I)
  for (a in 1:q) for (s in 1:q) added <- added + Wv[a, s] * (Q[[a, s]] - P[[a]] %*% Phi %*% P[[s]])
  adjusted <- Phi + 2 * Phi %*% added %*% Phi
  L <- as.numeric(colnames(X) == "familycand"); v <- drop(t(L) %*% Phi %*% L)
  g <- sapply(P, function(M) -drop(t(L) %*% Phi %*% M %*% Phi %*% L))
  list(est = sum(L * f$beta), se = sqrt(drop(t(L) %*% adjusted %*% L)),
       df = 2 * v^2 / drop(t(g) %*% Wv %*% g))
}
widen <- function(r, u, freedom = Inf) {
  se <- sqrt(r$se^2 + u^2)
  list(est = r$est, se = se, df = se^4 / (r$se^4 / r$df + if (is.finite(freedom)) u^4 / freedom else 0))
}
# p of a claim from one-sided p above and below a value, and two-sided p of one
p_of <- function(above, below, two, direction, m) switch(direction,
  greater = two(m), less = two(-m), different = max(two(m), two(-m)), same = max(above(-m), below(m)))
out <- function(study, claim, what, est, se, df, low, high, p)
  cat(paste(c(study, claim, what, sprintf("%.9g", c(est, se, df, low, high, p))), collapse = "|"), "\n",
      sep = "")
by_t <- function(study, claim, what, r, direction, m) {
  t <- function(x) (r$est - x) / r$se; ends <- r$est + c(-1, 1) * qt(0.975, r$df) * r$se
  p <- p_of(function(x) pt(-t(x), r$df), function(x) pt(t(x), r$df), function(x) 2 * pt(-abs(t(x)), r$df),
            direction, m)
  out(study, claim, what, r$est, r$se, r$df, ends[1], ends[2], p)
}
student <- function(x, y, equal) {
  t <- t.test(x, y, var.equal = equal)
  list(est = mean(x) - mean(y), se = t$stderr, df = as.numeric(t$parameter))
}
permuted <- function(study, claim, x, y, direction, m) {
  z <- c(x, y); n <- length(z); k <- length(x); fewer <- min(k, n - k); exact <- choose(n, k) <= 50000
  z <- z - mean(z); own <- (seq_len(n) <= k) - k / n; sign <- if (k <= n - k) 1 else -1; set.seed(1)
  sel <- if (exact) combn(n, fewer) else replicate(100000, sample.int(n, fewer))
  s <- sign * colSums(matrix(z[sel], fewer)); v <- sign * colSums(matrix(own[sel], fewer))
  S <- sum(z[1:k]); O <- sum(own[1:k]); tie <- 1e-11 * sum(abs(z)); est <- mean(x) - mean(y)
  share <- function(e) if (exact) mean(e) else (sum(e) + 1) / (length(e) + 1)
  two <- function(a) share(abs(s - a * v) >= abs(S - a * O) - tie)
  end <- function(side) {
    if (share(abs(v) >= abs(O) * (1 - 1e-11)) > 0.05) return(side * Inf)
    inside <- est; step <- max(abs(s)) / O
    while (two(est + side * step) > 0.05) step <- 2 * step
    outside <- est + side * step
    for (i in 1:45) { a <- (inside + outside) / 2; if (two(a) > 0.05) inside <- a else outside <- a }
    outside
  }
  p <- p_of(function(a) share(s - a * v >= S - a * O - tie), function(a) share(s - a * v <= S - a * O + tie),
            two, direction, m)
  out(study, claim, if (exact) "permutation of blocks" else "permutation of blocks (drawn)", est, NA, NA,
      end(-1), end(1), p)
}
ranked <- function(study, claim, x, y, direction, m) {    # p by counting every dealing of the ranks
  if (choose(length(x) + length(y), length(x)) > 50000) return(invisible())
  tail <- function(a) {
    z <- rank(round(c(x - a, y), 9)); s <- colSums(matrix(z[combn(length(z), length(x))], length(x)))
    c(mean(s >= sum(z[seq_along(x)]) - 1e-9), mean(s <= sum(z[seq_along(x)]) + 1e-9))
  }
  p <- p_of(function(a) tail(a)[1], function(a) tail(a)[2], function(a) min(1, 2 * tail(a)), direction, m)
  out(study, claim, "ranks of block means (Mann-Whitney)", median(outer(x, y, "-")), NA, NA, NA, NA, p)
}
drawn <- function(study, claim, x, y, direction, m) {
  if (min(length(x), length(y)) < 5) return(invisible())
  d <- data.frame(v = c(x, y), g = rep(1:2, c(length(x), length(y)))); set.seed(2)
  n2 <- function(a) sum((a - mean(a))^2) / length(a)^2
  b <- boot(d, function(d, i) { a <- d$v[i][d$g[i] == 1]; b <- d$v[i][d$g[i] == 2]
    c(mean(a) - mean(b), n2(a) + n2(b)) }, 20000, strata = d$g)
  ends <- boot.ci(b, type = "stud")$student[4:5]; t <- (b$t[, 1] - b$t0[1]) / sqrt(b$t[, 2])
  at <- function(a) (b$t0[1] - a) / sqrt(b$t0[2])
  p <- p_of(function(a) mean(t >= at(a)), function(a) mean(t <= at(a)),
            function(a) min(1, 2 * min(mean(t >= at(a)), mean(t <= at(a)))), direction, m)
  out(study, claim, "blocks drawn anew (bootstrap)", b$t0[1], NA, NA, ends[1], ends[2], p)
}
rivals <- function(study, claim, x, y, u, freedom, direction, m) {
  by_t(study, claim, "Welch on block means", widen(student(x, y, FALSE), u, freedom), direction, m)
  for (f in list(permuted, ranked, drawn)) f(study, claim, x, y, direction, m)
}
by_lme4 <- function(d, fixed, nest) {
  d$family <- factor(d$family, c("ref", "cand"))
  g <- suppressMessages(lmer(reformulate(c("family", fixed, nest), "y"), d,
                             control = lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-10))))
  L <- as.numeric(names(fixef(g)) == "familycand"); K <- vcovAdj(g)
  list(est = sum(L * fixef(g)), se = sqrt(drop(t(L) %*% as.matrix(K) %*% L)), df = Lb_ddf(L, vcov(g), K))
}
# Shares of places below a limit, blocks the evidence: mid-p limits for what a family's places are worth,
# squared and added. Worth: by how much more the shares of blocks vary than those of independent places
# would, in both families or in the family itself, the larger; its freedom, the blocks that show both kinds
shares_apart <- function(study, claim, g, direction, m) {
  b <- aggregate(cbind(below, n = 1) ~ family + block, g, sum); s <- split(b$below / b$n, b$family)
  at <- tapply(b$n, b$family, mean); n <- lengths(s); p <- sapply(s, mean)
  effect <- function(k) {
    seen <- sum(sapply(s[k], function(v) sum((v - mean(v))^2))) / (sum(n[k]) - length(k))
    min(max(seen * sum(n[k]) / sum(n[k] * p[k] * (1 - p[k]) / at[k]), 1), max(at[k]))
  }
  worth <- sapply(names(p), function(k) n[[k]] * at[[k]] /
                    if (p[[k]] > 0 && p[[k]] < 1) max(effect(names(p)), effect(k)) else effect(names(p)))
  df <- min(max(1, sum(sapply(s, function(v) min(sum(v > 0), sum(v < 1))))), sum(n) - 2)
  limit <- function(p, N, tail, low) {
    if (p == if (low) 0 else 1) return(p)
    more <- function(t) (pbeta(t, p * N + 1e-12, (1 - p) * N + 1) + pbeta(t, p * N + 1, (1 - p) * N + 1e-12)) / 2
    uniroot(function(t) (if (low) more(t) else 1 - more(t)) - tail, c(0, 1), tol = 1e-13)$root
  }
  est <- p[["cand"]] - p[["ref"]]
  limits <- function(level) {
    N <- pmax(worth * (qnorm(level / 2) / qt(level / 2, df))^2, n[names(worth)])
    end <- function(k, low) limit(p[[k]], N[[k]], level / 2, low) - p[[k]]
    est + c(-sqrt(end("cand", TRUE)^2 + end("ref", FALSE)^2),
            sqrt(end("cand", FALSE)^2 + end("ref", TRUE)^2))
  }
  two <- function(a) exp(uniroot(function(l) if (a < est) limits(exp(l))[1] - a else a - limits(exp(l))[2],
                                 c(-20, -1e-3), tol = 1e-10)$root)
  half <- function(a, above) if ((est > a) == above) two(a) / 2 else 1 - two(a) / 2
  ends <- limits(0.05); result <- p_of(function(a) half(a, TRUE), function(a) half(a, FALSE), two, direction, m)
  out(study, claim, "decides (nothing shared)", est, NA, NA, ends[1], ends[2], result)
}
