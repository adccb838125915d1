# Witness for thin spots: expected least of n normals by integration, the share of blocks with a
# place below a limit by nested adaptive integration, and the chance of agreeing pairs by listing
# every outcome.
say <- function(name, ...) cat(name, sprintf("%.10g", c(...)), "\n")
cat("#", R.version.string, "2026-11-25\n")

least <- function(n) integrate(function(x) x * n * dnorm(x) * pnorm(x, lower.tail = FALSE)^(n - 1),
                               -12, 12, rel.tol = 1e-12)$value
say("expected_least", sapply(c(2, 3, 5, 10, 16, 25), least))

mean <- 4.6; sd_block <- 0.22; sd_bore <- 0.12; sd_place <- 0.10
pattern <- c(0.12, -0.02, -0.10, 0.0); bores <- 4
above_bore <- function(block, limit) integrate(function(b) sapply(b, function(x)
  dnorm(x) * prod(pnorm((mean + block + sd_bore * x + pattern - limit) / sd_place))),
  -8, 8, rel.tol = 1e-10, subdivisions = 500)$value
share <- function(limit, power) integrate(function(z) sapply(z, function(u)
  dnorm(u) * (1 - above_bore(sd_block * u, limit)^power)), -8, 8, rel.tol = 1e-8,
  subdivisions = 500)$value
for (limit in c(3.6, 3.9, 4.2, 4.5))
  say(paste0("share_below_", limit),
      base::mean(pnorm((limit - mean - pattern) / sqrt(sd_block^2 + sd_bore^2 + sd_place^2))),
      share(limit, 1), share(limit, bores))

agreeing <- function(chances, blocks) {
  all <- as.matrix(expand.grid(rep(list(seq_along(chances)), blocks)))
  weight <- apply(all, 1, function(row) prod(chances[row]))
  pairs <- apply(all, 1, function(row) sum(choose(tabulate(row, length(chances)), 2)))
  sapply(0:choose(blocks, 2), function(k) sum(weight[pairs >= k]))
}
say("agreeing_6_of_4", agreeing(rep(0.25, 4), 6))
say("agreeing_5_uneven", agreeing(c(0.5, 0.25, 0.25), 5))

# Share in clusters, Korn and Graubard's interval with the linearised variance, written out.
cluster <- rep(1:6, c(4, 4, 3, 5, 4, 4))
below <- c(1, 1, 0, 1,  0, 0, 0, 0,  0, 1, 0,  0, 0, 0, 0, 1,  0, 0, 0, 0,  1, 0, 1, 1)
korn <- function(level) {
  n <- length(below); m <- 6; p <- base::mean(below)
  z <- tapply(below - p, cluster, sum) / n
  v <- m / (m - 1) * sum(z^2)
  a <- (1 - level) / 2
  worth <- min(n, p * (1 - p) / v * (qt(a, n - 1) / qt(a, m - 1))^2)
  x <- worth * p
  c(p, qbeta(a, x, worth - x + 1), qbeta(1 - a, x + 1, worth - x))
}
say("share_in_clusters_95", korn(0.95))
say("share_in_clusters_80", korn(0.80))
