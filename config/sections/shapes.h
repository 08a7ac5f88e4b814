#pragma once
// Short names for the shapes of values, so that a table of keys reads like one.
#include "config/sections/key.h"

namespace brimwatch::sections {

constexpr std::int64_t kLongText = 4096;
constexpr std::int64_t kMillion = 1'000'000;
constexpr std::int64_t kUnit = kMillion;  ///< decimals are in millionths

constexpr Shape text(std::int64_t most = 200) { return {Shape::Kind::text, 0, most}; }
constexpr Shape lines() { return {Shape::Kind::lines, 0, kLongText}; }
constexpr Shape path() { return {Shape::Kind::path, 0, kLongText}; }
constexpr Shape paths() { return {Shape::Kind::paths, 0, kLongText}; }
constexpr Shape patterns() { return {Shape::Kind::pattern, 0, kLongText}; }
constexpr Shape texts() { return {Shape::Kind::texts, 0, kLongText}; }
constexpr Shape messages() { return {Shape::Kind::messages, 0, kLongText}; }
constexpr Shape headers() { return {Shape::Kind::headers, 0, kLongText}; }
constexpr Shape url() { return {Shape::Kind::url, 0, 2048}; }
constexpr Shape pointer() { return {Shape::Kind::pointer, 0, 256}; }
constexpr Shape word(std::span<const std::string_view> words) { return {Shape::Kind::word, 0, 0, words}; }
constexpr Shape words(std::span<const std::string_view> all) { return {Shape::Kind::words, 0, 0, all}; }
constexpr Shape boolean() { return {Shape::Kind::boolean}; }
constexpr Shape count(std::int64_t least, std::int64_t most) { return {Shape::Kind::count, least, most}; }
/// Millionths of a percent; `least` of 1 means "above 0".
constexpr Shape percent(std::int64_t least, std::int64_t most) { return {Shape::Kind::percent, least, most}; }
constexpr Shape money(std::int64_t least, std::int64_t most) { return {Shape::Kind::money, least, most}; }
constexpr Shape fraction() { return {Shape::Kind::fraction, 0, kMillion}; }
constexpr Shape fraction_up_to(std::int64_t most) { return {Shape::Kind::fraction, 0, most * kMillion}; }
/// In millionths of a second, as every decimal.
constexpr Shape seconds(std::int64_t least, std::int64_t most) { return {Shape::Kind::seconds, least, most}; }
constexpr Shape shares() { return {Shape::Kind::shares, 1, 1'000'000'000'000 * kMillion}; }
constexpr Shape date() { return {Shape::Kind::date}; }
constexpr Shape clock() { return {Shape::Kind::clock, 0, 16}; }
constexpr Shape mic() { return {Shape::Kind::mic, 0, 16}; }
constexpr Shape zone() { return {Shape::Kind::zone, 0, 64}; }
constexpr Shape secret() { return {Shape::Kind::secret}; }
constexpr Shape table(std::vector<KeyInfo> (*nested)()) { return {Shape::Kind::table, 0, 0, {}, nested}; }
constexpr Shape table_of(std::vector<KeyInfo> (*nested)()) { return {Shape::Kind::table_of, 0, 0, {}, nested}; }
constexpr Shape tables(std::int64_t most, std::vector<KeyInfo> (*nested)()) {
  return {Shape::Kind::tables, 0, most, {}, nested};
}

}  // namespace brimwatch::sections
