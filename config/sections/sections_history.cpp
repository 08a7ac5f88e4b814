// The keys of [history]: files, sources and checks of daily bars.
#include <algorithm>
#include <array>
#include <utility>

#include "config/checks/checks.h"
#include "config/reading/text.h"
#include "config/sections/sections.h"
#include "config/sections/shapes.h"

namespace brimwatch {
namespace sections {
namespace {

constexpr std::array<std::string_view, 2> kBarFormats{"csv", "json"};
constexpr std::array<std::string_view, 3> kAdjusted{"no", "splits", "dividends"};
constexpr std::array<std::string_view, 3> kTreatments{"use", "doubt", "leave-out"};
constexpr std::array<std::string_view, 5> kPlacesOfUrl{"symbol", "from", "to", "page", "secret"};

constexpr Key<SourceFields> kSourceFields[] = {
    {{"date", text(), "The day, or an instant of it"}, set<SourceFields, &SourceFields::date>},
    {{"open", text(), "Open"}, set<SourceFields, &SourceFields::open>},
    {{"high", text(), "High"}, set<SourceFields, &SourceFields::high>},
    {{"low", text(), "Low"}, set<SourceFields, &SourceFields::low>},
    {{"close", text(), "Close"}, set<SourceFields, &SourceFields::close>},
    {{"volume", text(), "Volume of the day, shares"}, set<SourceFields, &SourceFields::volume>},
    {{"symbol", text(), "Symbol, where one answer holds several"}, set<SourceFields, &SourceFields::symbol>},
    {{"split", text(), "New shares for one old share, where rows report splits"},
     set<SourceFields, &SourceFields::split>},
    {{"dividend", text(), "Dividend a share; of splits_source alone"}, set<SourceFields, &SourceFields::dividend>},
    {{"rows", pointer(), "JSON: where the list of rows is, or the object with one list a field"},
     set<SourceFields, &SourceFields::rows>},
    {{"next", pointer(), "JSON: where the address of the next page is"}, set<SourceFields, &SourceFields::next>},
};

std::vector<KeyInfo> source_field_infos() { return infos(std::span<const Key<SourceFields>>(kSourceFields)); }

bool set_source_fields(HistorySource& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  return read_table(into.fields, value, std::span<const Key<SourceFields>>(kSourceFields), reading);
}

bool set_source_form(HistorySource& into, const Value& value, const Shape& shape, Reading& reading) {
  if (!read(into.symbol_form, value, shape, reading)) return false;
  if (value.text.find("{symbol}") != std::string::npos) return true;
  return reading.refuse(value.place, in_quotes(value.text), "a text with {symbol} in it, such as \"{symbol}.US\"");
}

constexpr Key<HistorySource> kSource[] = {
    {{"url", url(), "Its address; {symbol}, {from}, {to}, {page} and {secret} are filled in"},
     set<HistorySource, &HistorySource::url>},
    {{"headers", headers(), "HTTP headers; {secret} stands for the secret"}, set<HistorySource, &HistorySource::headers>},
    {{"secret", secret(), "Where the key for {secret} comes from"}, set<HistorySource, &HistorySource::secret>},
    {{"format", word(kBarFormats), "What it answers with"}, set<HistorySource, &HistorySource::format>},
    {{"fields", table(source_field_infos),
      "Where the values stand: CSV columns by name, JSON by pointers from a row on; common names need not be said"},
     set_source_fields},
    {{"symbol_form", text(64), "How the source writes a symbol, e.g. \"{symbol}.US\""},
     {set_source_form, initial<HistorySource, &HistorySource::symbol_form>}},
    {{"symbol_names", headers(), "Our symbols = the source's names, where symbol_form does not give them"},
     set<HistorySource, &HistorySource::symbol_names>},
    {{"adjusted", word(kAdjusted), "What past prices are adjusted for"}, set<HistorySource, &HistorySource::adjusted>},
    {{"per_minute", count(1, 60'000), "Requests in a minute, at most"}, set<HistorySource, &HistorySource::per_minute>},
    {{"days", count(1, 36'500), "Calendar days fetched where there are none yet"},
     set<HistorySource, &HistorySource::days>},
    {{"again", count(0, 3'650), "Calendar days fetched again each time, to see restatements"},
     set<HistorySource, &HistorySource::again>},
    {{"timeout", seconds(kUnit, 600 * kUnit), "Seconds for one request"}, set<HistorySource, &HistorySource::timeout>},
    {{"proxy", url(), "HTTP proxy; the environment's is not used"}, set<HistorySource, &HistorySource::proxy>},
    {{"ca_file", path(), "Certificates to trust, in place of the system's"}, set<HistorySource, &HistorySource::ca_file>},
    {{"insecure_loopback", boolean(), "Allow http:// to this machine itself"},
     set<HistorySource, &HistorySource::insecure_loopback>},
};

std::vector<KeyInfo> source_infos() { return infos(std::span<const Key<HistorySource>>(kSource)); }

/// JSON of the web is full of braces, an address is not: each word in them must be one that is filled.
bool check_places(const HistorySource& source, const Place& place, Reading& reading) {
  bool good = true;
  for (std::size_t at = source.url.find('{'); at != std::string::npos; at = source.url.find('{', at + 1)) {
    const std::size_t end = source.url.find('}', at);
    const std::string word = source.url.substr(at + 1, end == std::string::npos ? end : end - at - 1);
    if (std::find(kPlacesOfUrl.begin(), kPlacesOfUrl.end(), word) != kPlacesOfUrl.end()) continue;
    good = reading.refuse(place, in_quotes("{" + word + "}"), "{symbol}, {from}, {to}, {page} or {secret}");
  }
  return good;
}

/// A CSV's columns are names, a JSON's are pointers.
bool check_fields(const HistorySource& source, const Place& place, Reading& reading) {
  if (source.format != "json") return true;
  const SourceFields& f = source.fields;
  for (const std::string* field :
       {&f.date, &f.open, &f.high, &f.low, &f.close, &f.volume, &f.symbol, &f.split, &f.dividend}) {
    if (field->empty() || field->front() == '/') continue;
    reading.key = "fields";
    return reading.refuse(place, in_quotes(*field), "a JSON Pointer from the row on, such as \"/close\"");
  }
  return true;
}

bool check_source(const HistorySource& source, const Seen& seen, const Place& table, Reading& reading) {
  reading.key = "url";
  if (source.url.empty())
    return reading.tell(table, "found none, expected an address such as \"https://host/daily?symbol={symbol}\"");
  bool good = check_address(source.url, {kWebSchemes, "http", source.insecure_loopback}, seen.at("url", table), reading);
  good = check_places(source, seen.at("url", table), reading) && good;
  good = check_fields(source, seen.at("fields", table), reading) && good;
  if (source.url.find("{secret}") == std::string::npos || source.secret.kind != SecretSource::Kind::none) return good;
  reading.key = "secret";
  return reading.tell(table, "found none, and the url has {secret} in it; expected { env = ... } or { file = ... }");
}

template <HistorySource HistorySettings::*Member>
bool set_source(HistorySettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  const std::string section = std::exchange(reading.section, "[history." + std::string(reading.key) + "]");
  Seen seen;
  HistorySource source;
  const bool read = read_table(source, value, std::span<const Key<HistorySource>>(kSource), reading, &seen);
  const bool good = read && check_source(source, seen, value.place, reading);
  if (good) into.*Member = std::move(source);
  reading.section = section;
  return good;
}

constexpr Key<BarChecks> kChecks[] = {
    {{"spike", word(kTreatments), "One print's high or low, far from its neighbours, open and close"},
     set<BarChecks, &BarChecks::spike>},
    {{"split", word(kTreatments), "A step like an unreported split's; leave-out drops the rows before it"},
     set<BarChecks, &BarChecks::split>},
    {{"missing", word(kTreatments), "A session without a row"}, set<BarChecks, &BarChecks::missing>},
    {{"still", word(kTreatments), "A row without volume: a halt, or nobody traded"}, set<BarChecks, &BarChecks::still>},
    {{"repeat", word(kTreatments), "A row that repeats the one before it"}, set<BarChecks, &BarChecks::repeat>},
    {{"stale", word(kTreatments), "Rows that end before the last session"}, set<BarChecks, &BarChecks::stale>},
    {{"other", word(kTreatments), "Rows of another symbol"}, set<BarChecks, &BarChecks::other>},
    {{"spike_percent", percent(1, 1000 * kUnit), "How far beyond its neighbours, open and close a spike is, percent"},
     set<BarChecks, &BarChecks::spike_percent>},
};

std::vector<KeyInfo> check_infos() { return infos(std::span<const Key<BarChecks>>(kChecks)); }

bool set_checks(HistorySettings& into, const Value& value, const Shape& shape, Reading& reading) {
  if (value.kind != Value::Kind::table) return reading.refuse(value.place, value, shape);
  const std::string section = std::exchange(reading.section, "[history.checks]");
  const bool good = read_table(into.checks, value, std::span<const Key<BarChecks>>(kChecks), reading);
  reading.section = section;
  return good;
}

constexpr Key<HistorySettings> kHistory[] = {
    {{"daily", path(),
      "Folder of daily bars, SYMBOL.csv (also .csv.gz, .csv.zst, .zip), or one file for all symbols; columns by their "
      "common "
      "names"},
     set<HistorySettings, &HistorySettings::daily>},
    {{"learned", path(), "File of learned volume curves; without it, the place XDG gives"},
     set<HistorySettings, &HistorySettings::learned>},
    {{"splits", path(), "File of splits: date,symbol,ratio"}, set<HistorySettings, &HistorySettings::splits>},
    {{"earnings", path(), "File of report dates: date,symbol"}, set<HistorySettings, &HistorySettings::earnings>},
    {{"source", table(source_infos), "Where daily bars are fetched from, into the folder `daily`"},
     set_source<&HistorySettings::source>},
    {{"splits_source", table(source_infos), "Where splits are fetched from, into the file `splits`"},
     set_source<&HistorySettings::splits_source>},
    {{"earnings_source", table(source_infos), "Where report dates are fetched from, into the file `earnings`"},
     set_source<&HistorySettings::earnings_source>},
    {{"index_symbol", text(32), "Symbol by which the source gives [market] index; without it, the file's name"},
     set<HistorySettings, &HistorySettings::index_symbol>},
    {{"fetch_after", count(0, 1'000), "Minutes after the close when the day's bars are fetched"},
     set<HistorySettings, &HistorySettings::fetch_after>},
    {{"keep_days", boolean(), "A day that the feed carried whole is kept, and counts where `daily` lacks it"},
     set<HistorySettings, &HistorySettings::keep_days>},
    {{"checks", table(check_infos), "What is done with rows that are doubtful"}, set_checks},
};

}  // namespace
}  // namespace sections

std::span<const Key<HistorySettings>> history_keys() { return sections::kHistory; }

}  // namespace brimwatch
