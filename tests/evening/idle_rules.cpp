// Prints how often two sets of rules that differ in nothing are called different at a nominal 5 %: scripts/idle-rules.
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "idle_market.h"

int main(int count, char** arguments) {
  using namespace brimwatch::testing_support;
  const int runs = count > 1 ? std::atoi(arguments[1]) : 1200;
  std::printf("%d runs each; standard error %.1f\n%-12s %9s %12s %14s\n", runs, 100 * std::sqrt(0.05 * 0.95 / runs),
              "rules", "sessions", "as it is, %", "less index, %");
  for (const IdleRules rules : {IdleRules::random, IdleRules::nested, IdleRules::trend_gate, IdleRules::calm_half}) {
    for (const int sessions : {250, 500}) {
      const CalledDifferent called = called_different(rules, sessions, runs);
      std::printf("%-12s %9d %12.1f %14.1f\n", name_of(rules).c_str(), sessions, 100 * called.as_it_is,
                  100 * called.less_index);
    }
  }
  return 0;
}
