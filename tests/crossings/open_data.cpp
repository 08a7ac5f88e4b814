#include "open_data.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <sstream>

namespace brimwatch::testing_support {
namespace {

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> out;
  std::istringstream stream(line);
  for (std::string cell; std::getline(stream, cell, ',');) out.push_back(cell);
  return out;
}

struct Row {
  Date day;
  double open = 0, high = 0, low = 0, close = 0, volume = 0, ratio = 1;
};

class Columns {
 public:
  explicit Columns(const std::string& header) : names_(cells_of(header)) {
    for (std::string& name : names_) {
      for (char& c : name) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    }
  }
  [[nodiscard]] double number(const std::vector<std::string>& cells, const char* name, double otherwise = NAN) const {
    const auto found = std::find(names_.begin(), names_.end(), name);
    if (found == names_.end()) return otherwise;
    const std::string& cell = cells.at(static_cast<std::size_t>(found - names_.begin()));
    char* end = nullptr;
    const double value = std::strtod(cell.c_str(), &end);
    return end == cell.c_str() ? NAN : value;
  }

 private:
  std::vector<std::string> names_;
};

std::vector<Row> rows_of(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  std::getline(file, line);
  const Columns columns(line);
  std::vector<Row> out;
  while (std::getline(file, line)) {
    const auto cells = cells_of(line);
    const auto day = parse_date(cells.at(0).substr(0, 10));
    Row row{day.value_or(Date{}),
            columns.number(cells, "open"),
            columns.number(cells, "high"),
            columns.number(cells, "low"),
            columns.number(cells, "close"),
            columns.number(cells, "volume"),
            columns.number(cells, "split ratio", 1)};
    if (day && row.open > 0 && row.high > 0 && row.low > 0 && row.close > 0 && row.volume >= 0) out.push_back(row);
  }
  std::sort(out.begin(), out.end(), [](const Row& a, const Row& b) { return a.day < b.day; });
  return out;
}

Price micros(double price) { return Price{std::llround(price * 1e6)}; }

}  // namespace

std::vector<DailyBar> open_bars(const std::string& path) {
  const auto rows = rows_of(path);
  std::vector<DailyBar> out;
  double factor = 1;
  for (auto row = rows.rbegin(); row != rows.rend(); ++row) {
    DailyBar bar;
    bar.day = row->day;
    bar.open = micros(row->open / factor);
    bar.high = micros(row->high / factor);
    bar.low = micros(row->low / factor);
    bar.close = micros(row->close / factor);
    bar.volume = row->volume * factor;
    out.push_back(bar);
    factor *= row->ratio;
  }
  std::reverse(out.begin(), out.end());
  return out;
}

void halve_before(std::vector<DailyBar>& bars, Date day) {
  for (DailyBar& bar : bars) {
    if (bar.day >= day) continue;
    for (Price* price : {&bar.open, &bar.high, &bar.low, &bar.close}) price->micros = (price->micros + 1) / 2;
    bar.volume *= 2;
  }
}

}  // namespace brimwatch::testing_support
