# Reference values for analysis/wind, computed outside the project with R and its package
# circular (Debian r-base-core, r-cran-circular): writes reference_r.csv, the statistics of
# wind.csv. Run with: Rscript reference.R
suppressMessages(library(circular))
w <- read.csv("wind.csv")
speed <- sqrt(w$wind_north_m_s^2 + w$wind_east_m_s^2)
from <- circular(atan2(-w$wind_east_m_s, -w$wind_north_m_s), units = "radians", modulo = "2pi")
mean3s <- stats::filter(speed, rep(1 / 12, 12), sides = 1)
values <- c(
  mean_m_s = mean(speed),
  sd_m_s = stats::sd(speed),
  gust3s_m_s = max(mean3s, na.rm = TRUE),
  lull3s_m_s = min(mean3s, na.rm = TRUE),
  turbulence_intensity = stats::sd(speed) / mean(speed),
  direction_rad = as.numeric(mean(from)) %% (2 * pi),
  direction_sd_rad = as.numeric(sd.circular(from)),
  resultant = as.numeric(rho.circular(from)),
  arc_rad = as.numeric(range(from))
)
con <- file("reference_r.csv", "w")
writeLines(paste0("# R ", getRversion(), ", circular ", packageVersion("circular")), con)
writeLines("name,value", con)
for (n in names(values)) writeLines(sprintf("%s,%.15g", n, values[[n]]), con)
close(con)
