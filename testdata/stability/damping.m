% Second-order systems and the textbook helicopter near hover (Franklin, Powell and
% Emami-Naeini, Feedback Control of Dynamic Systems; states q, theta, u), let go from 0.05
% rad: attitude by initial(), damping ratio and natural frequency by damp(), also of the
% system sampled at 0.2 s. Run with GNU Octave 7.3.0 and its control package 3.4.0:
%   octave --no-gui damping.m > damping.json
pkg load control
systems = {};
for zeta = [-0.3 -0.1 -0.02 0.05 0.1 0.3 0.5 0.7 0.9]
  for wn = [0.9 3]
    systems{end+1} = {sprintf("zeta %g wn %g", zeta, wn), [0 1; -wn^2 -2*zeta*wn], [0.05; 0], [1 0], 8};
  end
end
systems{end+1} = {"textbook helicopter", [-0.4 0 -0.01; 1 0 0; -1.4 9.8 -0.02], [0; 0.05; 0], [0 1 0], 30};
v = ver("control");
printf("{\"octave\": \"%s\", \"control\": \"%s\", \"systems\": [", version(), v.Version);
for k = 1:numel(systems)
  [name, A, x0, C, T] = systems{k}{:};
  n = rows(A);
  sys = ss(A, zeros(n,1), C, 0);
  step = T/100;
  y = initial(sys, x0, (0:step:T)');
  [w, z] = damp(sys);
  poles = eig(A);
  i = find(imag(poles) > 0, 1);
  zeta = -real(poles(i))/abs(poles(i));
  [dummy, j] = min(abs(z - zeta) + abs(w - abs(poles(i))));
  sampled = c2d(sys, 0.2);
  a = poly(sampled.a);
  if k > 1, printf(","); end
  printf("\n{\"name\": \"%s\", \"step_s\": %.10g, \"damping_ratio\": %.12g, \"natural_rad_s\": %.12g, \"sampled\": [%s], \"attitude\": [%s]}", ...
    name, step, z(j), w(j), strjoin(arrayfun(@(x) sprintf("%.14g", x), a(2:end), "UniformOutput", false), ","), ...
    strjoin(arrayfun(@(x) sprintf("%.10g", x), y', "UniformOutput", false), ","));
end
printf("\n]}\n");
