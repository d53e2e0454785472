# Series M of Box and Jenkins (Time Series Analysis, chapter 11): a leading indicator and sales,
# 150 points, as R carries them in its datasets. Prints, as JSON, the series and the
# cross-correlations of their first differences, plain and pre-whitened by an MA(1) of the input.
#
#   Rscript testdata/response/seriesm.R > testdata/response/seriesm.json
lead <- as.numeric(BJsales.lead)
sales <- as.numeric(BJsales)
x <- diff(lead)
y <- diff(sales)
lags <- 0:9
at <- function(r) {
  # R correlates x[t + k] with y[t]: the output behind by k is at -k.
  sapply(lags, function(k) r$acf[r$lag == -k])
}
plain <- at(ccf(x, y, lag.max = 12, plot = FALSE))
fit <- arima(x, order = c(0, 0, 1))
theta <- coef(fit)[["ma1"]]
white <- function(v) as.numeric(stats::filter(v - mean(v), -theta, method = "recursive"))
whitened <- at(ccf(white(x), white(y), lag.max = 12, plot = FALSE))
num <- function(v) paste(format(v, digits = 15, trim = TRUE), collapse = ", ")
cat(sprintf('{"made_with": "%s", "lead": [%s],\n "sales": [%s],\n "lags": [%s], "plain": [%s],\n "ma1": %s, "whitened": [%s]}\n',
  R.version.string, num(lead), num(sales), num(lags), num(plain), num(theta), num(whitened)))
