# Witness for exact tests of two shares; base R only. fisher.test searches its odds ratios with
# uniroot's default tolerance (about 1e-4 on the scale it searches), so its limits are loose.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "2026-11-25\n")
tables <- list(tea = matrix(c(3, 1, 1, 3), 2), vaccine = matrix(c(7, 8, 12, 3), 2),
               deck = matrix(c(9, 13, 4, 44), 2))
for (name in names(tables)) {
  two <- fisher.test(tables[[name]])
  say(paste0(name, "_p"), two$p.value, fisher.test(tables[[name]], alternative = "greater")$p.value,
      fisher.test(tables[[name]], alternative = "less")$p.value)
  say(paste0(name, "_odds"), two$estimate, two$conf.int)
}
# Conditional odds ratio and limits again, by a search to 1e-13.
exact <- function(x, m, n, k, level) {
  s <- max(0, k - n):min(m, k); w <- lchoose(m, s) + lchoose(n, k - s); a <- (1 - level) / 2
  d <- function(t) { p <- exp(w + t * s - max(w + t * s)); p / sum(p) }
  root <- function(f) exp(uniroot(f, c(-20, 20), tol = 1e-13)$root)
  c(root(function(t) sum(s * d(t)) - x), root(function(t) sum(d(t)[s >= x]) - a),
    root(function(t) sum(d(t)[s <= x]) - a))
}
say("tea_exact", exact(3, 4, 4, 4, 0.95))
say("vaccine_exact", exact(7, 15, 15, 19, 0.95))
say("deck_exact", exact(9, 22, 48, 13, 0.95))
