% Reference values for package rotor, a second time and in another language: eigenvalues
% and frequency responses of two heads by the control package, and the gain at which the loop
% of the aircraft and a pilot with a reaction delay begins to grow, from a fine grid.
% Run: octave-cli --no-history room.m > room.json
1;
pkg load control

function [a, b] = model(p)
  g = 9.80665;
  tau = 16 / (p.gamma * p.Omega);
  ku = 0.3 / (p.Omega * p.R);
  throw = p.throw * pi / 180;
  n = 8 + 2 * (p.taub > 0);
  a = zeros(n); b = zeros(n, 4);
  a(1,1) = a(2,2) = -1/tau;
  a(1,3) = a(2,4) = -1;
  a(1,7) = ku/tau; b(1,3) = ku/tau;
  a(2,8) = -ku/tau; b(2,4) = -ku/tau;
  b(1,1) = b(2,2) = p.ks * throw / tau;
  a(3,1) = p.m * g * p.h / p.Iyy;
  a(4,2) = p.m * g * p.h / p.Ixx;
  a(5,3) = a(6,4) = 1;
  a(7,5) = a(7,1) = -g; a(7,7) = p.Xu; b(7,3) = p.Xu;
  a(8,6) = a(8,2) = g; a(8,8) = p.Xu; b(8,4) = p.Xu;
  if p.taub > 0
    a(1,9) = a(2,10) = p.kb / tau;
    a(9,9) = a(10,10) = -1/p.taub;
    a(9,3) = a(10,4) = -1;
    b(9,1) = b(10,2) = p.kp * throw / p.taub;
  end
end

function gain = most(a, b, out, in, delay)
  w = logspace(log10(0.3), log10(30), 60001);
  h = squeeze(freqresp(ss(a, b(:,in), eye(rows(a))(out,:), 0), w)).';
  phase = unwrap(angle(h)) * 180 / pi;
  [~, k] = min(abs(log(w / 2)));
  phase -= 360 * ceil((phase(k) - 90) / 360);
  phase -= delay * w * 180 / pi;
  gain = Inf;
  turn = floor((phase + 180) / 360);
  for k = find(diff(turn) < 0)
    gain = min(gain, 1 / abs(h(k)));
  end
end

heads = {};
heads{1} = struct("name", "bare", "R", 3.1, "Omega", 53, "gamma", 4.6, "m", 240, "h", 1.15, "Ixx", 68, "Iyy", 135, "Xu", -0.03, ...
  "throw", 8, "kb", 0, "taub", 0, "kp", 1, "ks", 1, "delay", 0.05);
heads{2} = struct("name", "bar", "R", 3.2, "Omega", 50, "gamma", 5.2, "m", 260, "h", 1.2, "Ixx", 72, "Iyy", 150, "Xu", -0.03, ...
  "throw", 7, "kb", 0.5, "taub", 0.7, "kp", 1, "ks", 0.6, "delay", 0.08);
w = [0.2 1 3 10];
printf("{\"versions\": {\"octave\": \"%s\", \"control\": \"%s\"},\n\"omega_rad_s\": [0.2, 1, 3, 10],\n\"heads\": [\n", version(), pkg("list", "control"){1}.version);
for i = 1:2
  p = heads{i};
  [a, b] = model(p);
  e = eig(a); e = e(imag(e) >= 0);
  [~, o] = sort(abs(e)); e = e(o);
  printf("{\"name\": \"%s\", \"eigenvalues\": [", p.name);
  printf("%s", strjoin(arrayfun(@(x) sprintf("[%.12g, %.12g]", real(x), imag(x)), e.', "UniformOutput", false), ", "));
  printf("],\n\"axes\": {");
  for j = 1:2
    out = 7 - j; in = 3 - j; % roll: state 6, stick 2; pitch: state 5, stick 1
    h = squeeze(freqresp(ss(a, b(:,in), eye(rows(a))(out,:), 0), w)).' .* exp(-1i * w * p.delay);
    room = arrayfun(@(d) most(a, b, out, in, p.delay + d), [0.2 0.3 0.4]);
    printf("\"%s\": {\"re\": [%s], \"im\": [%s], \"most_gain_per_rad\": [%s]}%s\n", {"roll", "pitch"}{j}, ...
      strjoin(arrayfun(@(x) sprintf("%.12g", x), real(h), "UniformOutput", false), ", "), ...
      strjoin(arrayfun(@(x) sprintf("%.12g", x), imag(h), "UniformOutput", false), ", "), ...
      strjoin(arrayfun(@(x) sprintf("%.8g", x), room, "UniformOutput", false), ", "), {",", ""}{j});
  end
  printf("}}%s\n", {",", ""}{i});
end
printf("]}\n");
