// brimwatch learn: curves from bar files, their picture, and grades of the projection.
#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "commands/command.h"
#include "session/calendar.h"
#include "tape/bytes.h"
#include "volume/bar_decoder.h"
#include "volume/bars.h"
#include "volume/score.h"
#include "volume/walk.h"

namespace brimwatch {
namespace {

struct LearnOptions {
  std::vector<std::string> files, columns;
  std::vector<double> minutes;
  std::string calendar = "XNYS", symbol, model = "remainder", stamp = "start";
  int bar = 0;
  bool grade = false, cold = false, utc = false, no_gap = false;
  std::vector<double> hole;
};

Status decode_file(const std::string& path, BarDecoder& decoder) {
  auto opened = open_bytes(path);
  if (!opened) return tl::unexpected(opened.error());
  std::vector<char> room(1 << 20);
  for (;;) {
    const auto got = opened->bytes->read(room);
    if (!got) return tl::unexpected(got.error());
    if (*got == 0) return decoder.finish();
    if (Status status = decoder.feed({room.data(), *got}); !status) return status;
  }
}

Result<std::vector<SymbolRows>> read_group(const std::string& symbol, const std::vector<std::string>& paths,
                                           const LearnOptions& options, const Calendar& calendar) {
  std::vector<SymbolRows> all;
  for (const std::string& path : paths) {
    BarDecoder decoder(path, symbol, {options.utc, options.columns}, calendar);
    if (Status status = decode_file(path, decoder); !status) return tl::unexpected(status.error());
    for (const std::string& line : decoder.told()) std::fprintf(stderr, "%s\n", line.c_str());
    if (decoder.malformed() * 100 > std::max<std::uint64_t>(decoder.rows(), 100)) {
      return fail(path + ": " + std::to_string(decoder.malformed()) + " of " + std::to_string(decoder.rows()) +
                  " rows could not be read, one in a hundred is allowed; the file was not used");
    }
    for (SymbolRows& rows : decoder.symbols()) {
      const auto same =
          std::find_if(all.begin(), all.end(), [&](const SymbolRows& one) { return one.symbol == rows.symbol; });
      if (same == all.end()) all.push_back(std::move(rows));
      else same->rows.insert(same->rows.end(), rows.rows.begin(), rows.rows.end());
    }
  }
  return all;
}

std::vector<double> default_minutes(const BarSeries& series) {
  std::vector<double> minutes;
  for (const double minute : {15.0, 30.0, 60.0, 90.0, 120.0, 195.0, 300.0}) {
    if (series.knows(minute)) minutes.push_back(minute);
  }
  if (minutes.size() >= 5) return minutes;
  minutes.clear();
  for (const double minute : {30.0, 90.0, 150.0, 210.0, 270.0, 330.0}) {
    if (series.knows(minute)) minutes.push_back(minute);
  }
  return minutes;
}

void print_json(const std::vector<ScorePoint>& points) {
  auto list = nlohmann::ordered_json::array();
  for (const ScorePoint& p : points) {
    list.push_back({{"minute", p.minute},
                    {"days", p.days},
                    {"mape", p.mape},
                    {"mdape", p.mdape},
                    {"cover80", p.cover80},
                    {"cover90", p.cover90},
                    {"crps", p.crps},
                    {"base_rate", p.base_rate},
                    {"brier_skill", p.brier_skill},
                    {"auc", p.auc},
                    {"precision_50", p.precision_50},
                    {"recall_50", p.recall_50},
                    {"precision_70", p.precision_70},
                    {"recall_70", p.recall_70},
                    {"linear_mape", p.linear_mape},
                    {"profile_mape", p.profile_mape},
                    {"bias", p.bias},
                    {"error_sd", p.error_sd}});
  }
  std::printf("%s\n", nlohmann::ordered_json{{"points", list}}.dump().c_str());
}

void print_table(const std::vector<ScorePoint>& points) {
  std::puts(
      "minute   days   mean  median  in 80 in 90   CRPS   base  Brier    AUC  prec  recall  prec  recall   linear  "
      "profile");
  for (const ScorePoint& p : points) {
    std::printf(
        "%6.0f %6d %6.1f %7.1f  %5.2f %5.2f  %5.3f  %5.3f %6.2f  %5.3f  %4.2f  %6.2f  %4.2f  %6.2f  %7.1f %8.1f  %6.3f "
        "%5.3f\n",
        p.minute, p.days, p.mape, p.mdape, p.cover80, p.cover90, p.crps, p.base_rate, p.brier_skill, p.auc,
        p.precision_50, p.recall_50, p.precision_70, p.recall_70, p.linear_mape, p.profile_mape, p.bias, p.error_sd);
  }
}

void run_learn(const LearnOptions& options, CommandContext& context) {
  const auto calendar = Calendar::load(options.calendar, {});
  if (!calendar) return void(context.exit = kUsage);
  std::map<std::string, std::vector<std::string>> groups;
  for (const std::string& file : options.files)
    groups[options.symbol.empty() ? symbol_of_file(file) : options.symbol].push_back(file);
  Scores scores;
  for (const auto& [symbol, paths] : groups) {
    auto rows = read_group(symbol, paths, options, **calendar);
    if (!rows) {
      std::fprintf(stderr, "brimwatch learn: %s\n", rows.error().text.c_str());
      context.exit = kBadInput;
      return;
    }
    for (SymbolRows& one : *rows) {
      const BarSeries series =
          assemble_bars(one.symbol, std::move(one.rows), {options.bar, options.stamp == "end"}, **calendar);
      WalkOptions walk{options.minutes.empty() ? default_minutes(series) : options.minutes, options.cold,
                       !options.no_gap};
      if (options.hole.size() == 2) walk.hole_from = options.hole[0], walk.hole_to = options.hole[1];
      walk_days(series, walk, [&](const BarDay&, const GradedForecast& forecast) { scores.add(forecast); });
    }
  }
  context.json ? print_json(scores.points()) : print_table(scores.points());
}

}  // namespace

void add_learn(CLI::App& root, CommandContext& context) {
  auto options = std::make_shared<LearnOptions>();
  CLI::App* learn = root.add_subcommand("learn", "Curves from bar files, and how good the projection is");
  learn->add_option("files", options->files, "Bar files")->check(CLI::ExistingFile);
  learn->add_flag("--grade", options->grade, "Score the projection");
  learn->add_option("--at", options->minutes, "Minutes")->delimiter(',');
  learn->add_flag("--cold", options->cold, "Default profile only");
  learn->add_flag("--utc", options->utc, "");
  learn->add_flag("--no-gap", options->no_gap, "");
  learn->add_option("--hole", options->hole, "")->expected(2);
  learn->add_option("--stamp", options->stamp, "");
  learn->add_option("--calendar", options->calendar, "");
  add_common(*learn, context, false);
  learn->callback([options, &context] { run_learn(*options, context); });
}

}  // namespace brimwatch
