# Witness for kappa: the formulas written out in base R.
fleiss <- function(t) {
  n <- nrow(t); m <- sum(t[1, ]); p <- colSums(t) / (n * m)
  po <- mean((rowSums(t^2) - m) / (m * (m - 1))); pe <- sum(p^2)
  (po - pe) / (1 - pe)
}
# Fleiss (1971): 30 patients, 6 ratings each
g <- matrix(c(4,4,4,4,4,4, 2,2,2,5,5,5, 2,3,3,3,3,5, 5,5,5,5,5,5, 2,2,2,4,4,4, 1,1,3,3,3,3,
3,3,3,3,5,5, 1,1,3,3,3,4, 1,1,4,4,4,4, 5,5,5,5,5,5, 1,4,4,4,4,4, 1,2,4,4,4,4, 2,2,2,3,3,3,
1,4,4,4,4,4, 2,2,4,4,4,5, 3,3,3,3,3,5, 1,1,1,4,5,5, 1,1,1,1,1,2, 2,2,4,4,4,4, 1,3,3,5,5,5,
5,5,5,5,5,5, 2,4,4,4,4,4, 2,2,4,5,5,5, 1,1,4,4,4,4, 1,4,4,4,4,5, 2,2,2,2,2,4, 1,1,1,1,5,5,
2,2,4,4,4,4, 1,3,3,3,3,3, 5,5,5,5,5,5), ncol = 6, byrow = TRUE)
t <- t(apply(g, 1, tabulate, nbins = 5))
k <- fleiss(t)
jack <- sapply(1:30, function(i) fleiss(t[-i, ]))
cat("fleiss", format(k, digits = 12), "jackknife se",
    format(sqrt(29 / 30 * sum((jack - mean(jack))^2)), digits = 12), "\n")
cat(R.version.string, "2026-11-25\n")
