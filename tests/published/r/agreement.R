# Witness for agreement of two methods (base R only).
iron <- read.csv(text = "chemical,magnetic
24,25
16,22
24,17
18,21
18,20
10,13
14,16
16,14
18,19
20,10
21,23
20,20
21,19
15,15
16,16
15,16
17,12
19,15
16,15
15,15
15,15
13,17
24,18
22,16
21,18
24,22
15,20
20,21
20,21
25,21
27,25
22,22
20,18
24,21
24,18
23,20
29,25
27,20
23,18
19,19
25,16
15,16
16,16
27,26
27,28
30,28
29,30
26,32
25,28
25,36
32,40
28,33
25,33")
d <- iron$chemical - iron$magnetic
print(t.test(d))
n <- length(d); z <- qnorm(0.975); s <- sd(d)
ends <- function(k) mean(d) + s * qt(c(0.025, 0.975), n - 1, k * sqrt(n)) / sqrt(n)
cat("sd", format(s, digits = 12), "\n")
cat("lower limit", format(c(mean(d) - z * s, ends(-z)), digits = 12), "\n")
cat("upper limit", format(c(mean(d) + z * s, ends(z)), digits = 12), "\n")
slope <- lm(d ~ I((chemical + magnetic) / 2), data = iron)
print(summary(slope)$coefficients, digits = 12)
# the same t: Pitman-Morgan test of equal variances
print(cor.test(d, iron$chemical + iron$magnetic)$statistic, digits = 12)
# pairs in groups: 12 subjects (Bland & Altman 1999, table 4)
sub <- rep(1:12, c(5, 4, 6, 5, 6, 4, 4, 6, 3, 5, 6, 6))
rv <- c(7.83,7.42,7.89,7.12,7.88, 6.16,7.26,6.71,6.54, 4.75,5.24,4.86,4.78,6.05,5.42,
        4.21,3.61,3.72,3.87,3.92, 3.13,2.98,2.85,3.17,3.09,3.12, 5.92,6.42,5.92,6.27,
        7.13,6.62,6.58,6.93, 4.54,4.81,5.11,5.29,5.39,5.57, 4.48,4.92,3.97,
        4.22,4.65,4.74,4.44,4.50, 6.78,6.07,6.52,6.42,6.41,5.76, 5.06,4.72,4.90,4.80,4.90,5.10)
ic <- c(6.57,5.62,6.90,6.57,6.35, 4.06,4.29,4.26,4.09, 4.71,5.50,5.08,5.02,6.01,5.67,
        4.14,4.20,4.61,4.68,5.04, 3.03,2.86,2.77,2.46,2.32,2.43, 5.90,5.81,5.70,5.76,
        5.09,4.63,4.61,5.09, 4.72,4.61,4.36,4.20,4.36,4.20, 3.17,3.12,2.96,
        4.35,4.62,3.16,3.53,3.53, 7.20,6.09,7.00,7.10,7.40,6.80, 4.50,4.20,3.80,3.80,4.20,4.50)
a <- anova(lm((rv - ic) ~ factor(sub)))
m <- table(sub); m0 <- (60^2 - sum(m^2)) / (11 * 60)
between <- (a$"Mean Sq"[1] - a$"Mean Sq"[2]) / m0
cat("mean", format(mean(rv - ic), digits = 10), "within", format(a$"Mean Sq"[2], digits = 10),
    "between", format(between, digits = 10), "sd", format(sqrt(between + a$"Mean Sq"[2]), digits = 10), "\n")
# error of the mean of pairs in groups, by groups (sandwich with k / (k - 1))
r <- tapply(rv - ic - mean(rv - ic), sub, sum)
cat("se", format(sqrt(12 / 11 * sum(r^2)) / 60, digits = 10), "\n")
cat(R.version.string, "2026-11-25\n")
