# Witness for tests/published/test_verdicts.py: the claims of each ledger held together by p.adjust, from the
# p-values that the witnesses verdicts_demo, _bench, _figures and _beside printed.
# Run from the project folder after those: Rscript tests/published/r/verdicts_together.R
cat("#", R.version.string, "2026-11-26\n")
files <- file.path("tests/published/r", paste0("verdicts_", c("demo", "bench", "figures", "beside"), ".txt"))
rows <- read.table(text = unlist(lapply(files, readLines)), sep = "|", quote = "", stringsAsFactors = FALSE)
rows <- rows[grepl("^decides", rows$V3), ]; rows <- rows[!duplicated(rows[c("V1", "V2")], fromLast = TRUE), ]
for (study in unique(rows$V1)) {
  one <- rows[rows$V1 == study, ]
  for (k in c("holm", "hochberg", "BH", "BY"))
    cat(paste(study, one$V2, k, sprintf("%.9g", p.adjust(one$V9, k)), sep = "|"), sep = "\n")
}
