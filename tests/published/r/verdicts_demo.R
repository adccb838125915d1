# Witness for tests/published/test_verdicts.py: claims on means of data/demo, from its raw files: faulty
# rows told anew by the README, calibrations by lm, the nested model by matrices and by lme4.
# Run from the project folder (minutes): Rscript tests/published/r/verdicts_demo.R
source("tests/published/r/verdicts_functions.R")
d <- read_raw("demo"); d <- d[rowSums(d == "") < ncol(d), ]       # blank rows are no rows
d$v <- num(d$value); good <- rep(TRUE, nrow(d))
kind <- c(wall_thickness = "l", deck_thickness = "l", web_thickness = "l", hardness = "h", mass = "m")
of <- c(mm = "l", `in` = "l", kg = "m", lb = "m", HB = "h")
for (k in c("block", "family", "quantity", "value", "unit")) good[d[[k]] == ""] <- FALSE
good[is.na(d$v) | d$v <= 0 | is.na(kind[d$quantity]) | is.na(of[d$unit])] <- FALSE
good[good & kind[d$quantity] != of[d$unit]] <- FALSE
stations <- c(front = 0, thrust = 90, rear = 180, counter = 270)
good[d$quantity == "wall_thickness" & !d$station %in% c("", names(stations))] <- FALSE
good[!d$bore %in% c("", 1:4) | !d$sampling %in% c("", "grid", "search")] <- FALSE
good[!d$contact %in% c("", "good", "doubtful")] <- FALSE
counts <- table(d$block[good], d$family[good])
most <- setNames(colnames(counts)[max.col(counts)], rownames(counts))
good[good & d$family != most[d$block]] <- FALSE
good[duplicated(d)] <- FALSE
place <- do.call(paste, c(d[c("block", "quantity", "bore", "station", "depth", "gauge", "calibration",
                              "operator", "sampling", "repeat", "contact", "measured_on")], sep = "|"))
good[good & d$`repeat` != "" & ave(d$v, place, good, FUN = function(z) length(unique(z))) > 1] <- FALSE
cat("# rejected", sum(!good), "of", nrow(d), "\n")
d <- d[good, ]
d$y <- d$v * c(mm = 1, `in` = 25.4, kg = 1, lb = 0.45359237, HB = 1)[d$unit]
cal <- read_raw("demo", "calibrations.csv"); cal$x <- num(cal$reference); cal$s <- num(cal$indicated)
lines <- lapply(split(cal, cal$calibration), function(k) {
  f <- lm(s ~ x, k); freedom <- nrow(k) - length(unique(k$x))      # scatter: of repeats on one piece
  s2 <- max(sum((k$s - ave(k$s, k$x))^2) / freedom, 0.01^2 / 12)
  list(a = coef(f)[[1]], b = coef(f)[[2]], V = s2 * solve(crossprod(cbind(1, k$x))), df = freedom, x = k$x)
})
for (n in names(lines)) d$y[d$calibration == n] <- (d$y[d$calibration == n] - lines[[n]]$a) / lines[[n]]$b
compared <- function(q, cand, ref) {
  e <- d[d$quantity == q & d$family %in% c(cand, ref) & d$sampling != "search" & d$contact != "doubtful", ]
  at <- paste(e$station, e$depth); e <- e[at %in% at[e$family == cand] & at %in% at[e$family == ref], ]
  e$family <- ifelse(e$family == cand, "cand", "ref"); e
}
# what calibrations share: scatter each its own, pieces (0.01 mm) one error in all
shared <- function(e, w, blocks_vary) {
  var <- 0; fourth <- 0; piece <- c()
  for (n in setdiff(unique(e$calibration), "")) {
    i <- e$calibration == n; l <- lines[[n]]; W <- sum(w[i]); M <- sum(w[i] * e$y[i]); x <- l$x
    v <- drop(c(W, M) %*% l$V %*% c(W, M)) / l$b^2
    if (blocks_vary && length(unique(e$block[i])) == 1) v <- 0
    var <- var + v; fourth <- fourth + v^2 / l$df
    for (k in unique(x)) { j <- x == k
      h <- sum(j) / length(x) * W + sum(x[j] - mean(x)) * (M - W * mean(x)) / sum((x - mean(x))^2)
      piece[as.character(k)] <- sum(piece[as.character(k)], h, na.rm = TRUE) }
  }
  v <- var + sum((0.01 * piece)^2); list(u = sqrt(v), df = if (fourth > 0) v^2 / fourth else Inf)
}
# every bore at equal shares of the places, by least squares; the weight of each reading in the contrast
footing <- function(e) {
  fixed <- Filter(function(k) length(unique(e[[k]])) > 1, c("station", "depth"))
  for (k in fixed) { e[[k]] <- factor(e[[k]]); contrasts(e[[k]]) <- contr.sum(nlevels(e[[k]])) }
  e$one <- factor(paste(e$family, e$block, e$bore, sep = "/")); f <- lm(reformulate(c("0 + one", fixed), "y"), e)
  who <- do.call(rbind, strsplit(paste0(levels(e$one), "/-"), "/"))[, 1:2]
  m <- coef(f)[seq_len(nlevels(e$one))]; b <- tapply(m, paste(who[, 1], who[, 2]), mean)
  each <- ave(rep(1, nrow(who)), who[, 1], who[, 2], FUN = sum); family <- sub(" .*", "", names(b))
  k <- ifelse(who[, 1] == "cand", 1, -1) / each / as.numeric(table(family)[who[, 1]])
  X <- model.matrix(f); w <- drop(X %*% solve(crossprod(X), c(k, rep(0, ncol(X) - length(k)))))
  list(x = as.numeric(b[family == "cand"]), y = as.numeric(b[family == "ref"]), w = w, fixed = fixed)
}
repeats <- function(e) {
  cell <- interaction(e[c("family", "block", "bore", "station", "depth", "gauge", "calibration",
                          "operator")], drop = TRUE)
  freedom <- nrow(e) - nlevels(cell)
  list(variance = sum((e$y - ave(e$y, cell))^2) / freedom, df = freedom)
}
mean_claim <- function(claim, q, cand, ref, direction, m, own) {
  e <- compared(q, cand, ref); f <- footing(e); s <- list(u = 0, df = Inf)
  if (any(e$calibration != "")) s <- shared(e, f$w, TRUE)
  levels <- if (any(e$bore != "")) c("block", "bore") else "block"
  for (each in c(FALSE, TRUE)) {
    r <- if (q == "mass") student(f$x, f$y, !each) else nested(e, f$fixed, each, levels)
    name <- paste("nested,", if (each) "own" else "common", "spreads")
    by_t("demo", claim, if (each == own) "decides" else name, widen(r, s$u, s$df), direction, m)
  }
  if (!own && q != "mass") {
    nest <- if (length(levels) == 2) "(1 | block/bore)" else "(1 | block)"
    by_t("demo", claim, "decides", widen(by_lme4(e, f$fixed, nest), s$u, s$df), direction, m)
  }
  rivals("demo", claim, f$x, f$y, s$u, s$df, direction, m)
}
if (!exists("functions_only")) {
  mean_claim("deck-thicker", "deck_thickness", "trophy", "works", "greater", 2, FALSE)
  mean_claim("deck-much-thicker", "deck_thickness", "trophy", "works", "greater", 3.5, FALSE)
  mean_claim("deepdeck-deck", "deck_thickness", "deepdeck", "works", "greater", 1, TRUE)
  mean_claim("trophy-walls-thicker", "wall_thickness", "trophy", "works", "greater", 0.2, TRUE)
  mean_claim("deepdeck-walls-same", "wall_thickness", "deepdeck", "works", "same", 0.2, TRUE)
  mean_claim("deepdeck-webs-thicker", "web_thickness", "deepdeck", "works", "greater", 0, TRUE)
  mean_claim("trophy-iron-harder", "hardness", "trophy", "works", "greater", 0, FALSE)
  mean_claim("deepdeck-iron-differs", "hardness", "deepdeck", "works", "different", 0, TRUE)
  mean_claim("works-lighter", "mass", "works", "trophy", "less", 0, FALSE)
  mean_claim("deepdeck-lighter", "mass", "deepdeck", "works", "less", 0, TRUE)
  e <- compared("deck_thickness", "trophy", "works"); f <- footing(e); s <- shared(e, f$w, FALSE)
  k <- repeats(e); r <- list(est = sum(f$w * e$y), se = sqrt(k$variance * sum(f$w^2)), df = k$df)
  by_t("demo", "deck-of-these-three", "decides", widen(r, s$u, s$df), "greater", 2.2)
}
