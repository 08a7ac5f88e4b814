#include "adapters/feeds/template.h"

#include <algorithm>
#include <array>
#include <cstdio>

#include "core/text/percent.h"

namespace brimwatch {
namespace {

std::string escape_json(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      char code[8];
      std::snprintf(code, sizeof code, "\\u%04x", static_cast<unsigned>(static_cast<unsigned char>(c)));
      out += code;
    } else {
      out += c;
    }
  }
  return out;
}

std::string escaped(std::string_view text, Escape escape) {
  switch (escape) {
    case Escape::none:
      return std::string(text);
    case Escape::json:
      return escape_json(text);
    case Escape::url:
      return percent_encode(text);
  }
  return {};
}

std::string in_form(const std::string& form, const std::string& symbol) {
  constexpr std::string_view kPlace = "{symbol}";
  const std::size_t at = form.find(kPlace);
  if (at == std::string::npos) return symbol;
  return form.substr(0, at) + symbol + form.substr(at + kPlace.size());
}

/// Each symbol as the source writes it, in each of its forms.
std::vector<std::string> as_written(const TemplateValues& values) {
  static const SymbolForms kPlain;
  const SymbolForms& how = values.forms != nullptr ? *values.forms : kPlain;
  std::vector<std::string> out;
  for (const std::string& symbol : values.symbols) {
    const auto named = how.names.find(symbol);
    if (named != how.names.end()) {
      out.push_back(named->second);
      continue;
    }
    for (const std::string& form : how.forms) out.push_back(in_form(form, symbol));
  }
  return out;
}

std::string with_commas(const TemplateValues& values, Escape escape) {
  std::string out;
  for (const std::string& symbol : as_written(values)) out += (out.empty() ? "" : ",") + escaped(symbol, escape);
  return out;
}

std::string as_json_array(const TemplateValues& values, Escape escape) {
  std::string out;
  for (const std::string& symbol : as_written(values)) out += (out.empty() ? "[\"" : ",\"") + escape_json(symbol) + "\"";
  out = (out.empty() ? "[" : out) + "]";
  return escape == Escape::url ? percent_encode(out) : out;
}

constexpr std::array<std::string_view, 5> kPlaces{"{secret}", "{value}", "{symbols}", "{symbols_json}", "{symbol}"};
constexpr std::size_t kFirstOfSymbols = 2;

std::string value_of(std::size_t place, const TemplateValues& values, Escape escape) {
  switch (place) {
    case 0:
      return escaped(values.secret, escape);
    case 1:
      return std::string(values.value);
    case 3:
      return as_json_array(values, escape);
    default:
      return with_commas(values, escape);
  }
}

}  // namespace

std::string fill_template(std::string_view text, const TemplateValues& values, Escape escape) {
  std::string out;
  while (!text.empty()) {
    const std::size_t brace = text.find('{');
    out += text.substr(0, brace);
    if (brace == text.npos) break;
    text.remove_prefix(brace);
    std::size_t taken = 0;
    for (std::size_t i = 0; i < kPlaces.size() && taken == 0; ++i) {
      if (text.substr(0, kPlaces[i].size()) != kPlaces[i]) continue;
      out += value_of(i, values, escape);
      taken = kPlaces[i].size();
    }
    if (taken == 0) out += text[taken++];
    text.remove_prefix(taken);
  }
  return out;
}

bool mentions_symbols(std::string_view text) {
  for (std::size_t i = kFirstOfSymbols; i < kPlaces.size(); ++i) {
    if (text.find(kPlaces[i]) != text.npos) return true;
  }
  return false;
}

std::size_t batch_for(std::string_view text, int batch) {
  return text.find("{symbol}") != text.npos ? 1 : static_cast<std::size_t>(std::max(batch, 1));
}

std::vector<std::string> unknown_places(std::string_view text) {
  constexpr std::string_view kLetters = "abcdefghijklmnopqrstuvwxyz_";
  std::vector<std::string> out;
  for (std::size_t at = text.find('{'); at != text.npos; at = text.find('{', at + 1)) {
    const std::size_t end = text.find_first_not_of(kLetters, at + 1);
    if (end == text.npos || end == at + 1 || text[end] != '}') continue;
    const std::string_view place = text.substr(at, end + 1 - at);
    const bool known = std::find(kPlaces.begin(), kPlaces.end(), place) != kPlaces.end();
    if (!known && std::find(out.begin(), out.end(), place) == out.end()) out.emplace_back(place);
  }
  return out;
}

SymbolForms symbol_forms(const FeedSettings& settings) {
  SymbolForms out;
  const bool any = settings.symbol_form.find('*') != std::string::npos;  // of what is sent; no form to ask in
  const std::string& form = any ? out.forms.front() : settings.symbol_form;
  out.forms = settings.subscribe_form.empty() ? std::vector{form} : settings.subscribe_form;
  out.names = settings.symbol_names;
  return out;
}

}  // namespace brimwatch
