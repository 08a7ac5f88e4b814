#include "config/checks/checks.h"

#include "config/address.h"
#include "core/price.h"

namespace brimwatch {
namespace {

std::string each_in_quotes(std::string_view words, std::string_view between) {
  std::string out;
  while (!words.empty()) {
    const std::size_t end = words.find(' ');
    if (!out.empty()) out += between;
    out += in_quotes(words.substr(0, end));
    words = end == std::string_view::npos ? std::string_view() : words.substr(end + 1);
  }
  return out;
}

bool has_word(std::string_view words, std::string_view word) {
  const std::size_t at = words.find(word);
  if (at == std::string_view::npos) return false;
  const std::size_t end = at + word.size();
  return (at == 0 || words[at - 1] == ' ') && (end == words.size() || words[end] == ' ');
}

bool check_pivot(WatchDraft& watch, const Seen& seen, const Place& table, Reading& reading) {
  const bool said = seen.has("pivot") || seen.has("peak");
  if (!said) {
    reading.key = {};
    return reading.tell(table, "found neither pivot nor peak, expected one of them");
  }
  if (seen.has("pivot") && seen.has("peak")) {
    reading.key = "peak";
    return reading.tell(seen.at("peak", table), "found both pivot and peak, expected one of them");
  }
  if (!watch.given_pivot && !watch.peak) return false;  // told already
  if (watch.given_pivot) watch.pivot = *watch.given_pivot;
  else watch.pivot = on_tick_up(watch.rules, Price{watch.peak->micros + watch.rules.offset.micros});
  return true;
}

/// A range of one price would be left with the next tick.
bool check_range(const Watch& watch, const Place& place, Reading& reading) {
  const Price next = on_tick_up(watch.rules, Price{watch.pivot.micros + 1});
  if (watch.range_top >= next) return true;
  reading.key = "range";
  const Price highest = add_percent_down(watch.pivot, watch.rules.range);
  return reading.tell(place, "found a range from " + to_string(watch.pivot) + " to " + to_string(highest) +
                                 ", expected one with the next price in it, " + to_string(next) +
                                 ": a wider range, or a finer tick_size");
}

}  // namespace

bool check_rules(const Rules& rules, const Seen& seen, const Place& table, Reading& reading) {
  bool good = true;
  const bool odds_said = seen.has("odds_light") || seen.has("odds_heavy");  // else it was told where it was said
  if (odds_said && rules.odds_light >= rules.odds_heavy) {
    reading.key = seen.has("odds_light") ? "odds_light" : "odds_heavy";
    const auto text = [](double odds) { return format_micros(static_cast<std::int64_t>(odds * 1e6 + 0.5), 2); };
    good =
        reading.tell(seen.at(reading.key, table), "found odds_light " + text(rules.odds_light) + " and odds_heavy " +
                                                      text(rules.odds_heavy) + ", expected odds_light below odds_heavy");
  }
  if ((seen.has("loss") || seen.has("slip")) && rules.loss < rules.slip) {
    reading.key = seen.has("loss") ? "loss" : "slip";
    good = reading.tell(seen.at(reading.key, table), "found loss " + format_micros(rules.loss, 0) + " and slip " +
                                                         format_micros(rules.slip, 0) +
                                                         ", expected loss at least as large as slip");
  }
  if ((seen.has("gain") || seen.has("gain_more")) && rules.gain_more != 0 && rules.gain_more <= rules.gain) {
    reading.key = seen.has("gain_more") ? "gain_more" : "gain";
    good = reading.tell(seen.at(reading.key, table), "found gain " + format_micros(rules.gain, 0) + " and gain_more " +
                                                         format_micros(rules.gain_more, 0) +
                                                         ", expected gain_more above gain, or 0");
  }
  return good;
}

bool check_heartbeat(const LifeSettings& life, const Seen& seen, Reading& reading) {
  if (life.heartbeat_url.empty()) return true;
  reading.key = "heartbeat_url";
  return check_address(life.heartbeat_url, {kWebSchemes, "http", true}, seen.at("heartbeat_url", {}), reading);
}

bool check_watch(WatchDraft& watch, const Seen& seen, bool own_rules, const Place& table, Reading& reading) {
  bool good = true;
  if (!seen.has("symbol")) {
    reading.key = "symbol";
    good = reading.tell(table, "found none, expected one such as \"KLVN\"");
  }
  if (watch.from && watch.until && *watch.until < *watch.from) {
    reading.key = "until";
    good = reading.refuse(seen.at("until", table), to_string(*watch.until),
                          "a day not before from, " + to_string(*watch.from));
  }
  if (own_rules) good = check_rules(watch.rules, seen, table, reading) && good;
  if (watch.rules.tick_table == TickTable::market) watch.rules.tick_table = tick_table_of(watch.calendar);
  if (!check_pivot(watch, seen, table, reading)) return false;
  const Place place = seen.at(seen.has("pivot") ? "pivot" : "peak", table);
  watch.file = place.file;
  watch.line = place.line;
  watch.column = static_cast<std::uint16_t>(place.column > 65'535 ? 0 : place.column);
  set_levels(watch);
  return check_range(watch, seen.at("range", place), reading) && good;
}

bool check_needed(std::string_view key, std::string_view such, const Seen& seen, const Place& table, Reading& reading) {
  if (seen.has(key)) return true;
  reading.key = key;
  return reading.tell(table, std::string("found none, expected ").append(such));
}

bool check_only_for(const std::vector<KeyInfo>& keys, std::string_view kind, const Seen& seen, Reading& reading) {
  bool good = true;
  for (const KeyInfo& key : keys) {
    const bool own = key.only_for.empty() || has_word(key.only_for, kind);
    if (own || !seen.has(key.name)) continue;
    bool also = false;  // a second key of that name may be for this kind
    for (const KeyInfo& other : keys) also = also || (other.name == key.name && has_word(other.only_for, kind));
    if (also) continue;
    reading.key = key.name;
    good = reading.tell(seen.at(key.name, {}), "found a key of the kind " + each_in_quotes(key.only_for, " or ") +
                                                   ", expected none in the kind " + in_quotes(kind));
  }
  return good;
}

bool check_address(const std::string& url, const AddressRules& rules, const Place& place, Reading& reading) {
  const auto address = parse_address(url);
  std::string allowed;
  for (const std::string_view scheme : rules.schemes) {
    if (!allowed.empty()) allowed += " or ";
    allowed.append(scheme).append("://host");
  }
  if (!address) return reading.refuse(place, in_quotes(without_query(url)), allowed);
  if (address->has_user)
    return reading.tell(place, "found a name or password in the address, expected none: use a secret");
  bool known = false;
  for (const std::string_view scheme : rules.schemes) known = known || address->scheme == scheme;
  if (!known) return reading.refuse(place, in_quotes(address->scheme + "://"), allowed);
  if (address->scheme != rules.clear) return true;
  if (rules.insecure_loopback && is_loopback(*address)) return true;
  return reading.refuse(place, "an unencrypted address, " + in_quotes(address->scheme + "://" + address->host),
                        in_quotes(std::string(rules.schemes.front()) + "://") +
                            "; unencrypted only to 127.0.0.1 or [::1]" +
                            (rules.insecure_loopback ? "" : ", with insecure_loopback = true"));
}

}  // namespace brimwatch
