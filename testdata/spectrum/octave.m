% Reference values for the spectrum tests by Octave's signal package: transfer estimate and
% coherence of the records beside this file. Rewrites octave.json. Run: octave --no-gui octave.m
pkg load signal
d = csvread("records.csv", 1, 0);
fs = 50;
cases = {1, 2, 256, 0.5, 256, "linear"; 3, 4, 200, 0.75, 256, "mean"; 5, 7, 128, 0.5, 512, "linear"};
out = fopen("octave.json", "w");
v = ver("signal");
fprintf(out, "{\"octave\": \"%s\", \"signal\": \"%s\", \"cases\": [\n", version(), v.Version);
for k = 1:rows(cases)
  [i, j, n, overlap, nfft, detrend] = cases{k, :};
  w = hann(n + 1)(1:n); % periodic
  h = pwelch(d(:, i), d(:, j), w, overlap, nfft, fs, "half", detrend, "trans");
  c = pwelch(d(:, i), d(:, j), w, overlap, nfft, fs, "half", detrend, "coher");
  comma = ","; if k == rows(cases) comma = ""; end
  fprintf(out, "{\"x\": %d, \"y\": %d, \"window\": %d, \"overlap\": %g, \"fft\": %d, \"detrend\": \"%s\",\n", i - 1, j - 1, n, overlap, nfft, detrend);
  fprintf(out, "\"re\": [%s],\n", strjoin(arrayfun(@(q) sprintf("%.17g", q), real(h(:)'), "UniformOutput", false), ","));
  fprintf(out, "\"im\": [%s],\n", strjoin(arrayfun(@(q) sprintf("%.17g", q), imag(h(:)'), "UniformOutput", false), ","));
  fprintf(out, "\"coherence\": [%s]}%s\n", strjoin(arrayfun(@(q) sprintf("%.17g", q), c(:)', "UniformOutput", false), ","), comma);
end
fprintf(out, "]}\n");
fclose(out);
