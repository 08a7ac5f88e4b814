#pragma once
// A setting as one writes it in the configuration: the reverse of the readers in key.h, for what a key is when nobody
// sets it. Texts come out in quotes, with the escapes that JSON and TOML share, so that the same text is a value of both.
// Empty where there is nothing to write: no text, an empty list, a number that is not known.
#include <chrono>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "config/settings.h"

namespace brimwatch {

struct Shape;

std::string written(const std::string& value, const Shape& shape);
std::string written(const std::vector<std::string>& value, const Shape& shape);
std::string written(const std::map<std::string, std::string>& value, const Shape& shape);
std::string written(bool value, const Shape& shape);
std::string written(std::int32_t value, const Shape& shape);
std::string written(std::uint16_t value, const Shape& shape);
std::string written(std::uint64_t value, const Shape& shape);
std::string written(double value, const Shape& shape);
std::string written(Price value, const Shape& shape);
std::string written(const std::optional<Shares>& value, const Shape& shape);
std::string written(const std::optional<Date>& value, const Shape& shape);
std::string written(std::chrono::seconds value, const Shape& shape);
std::string written(std::chrono::milliseconds value, const Shape& shape);
std::string written(const Mic& value, const Shape& shape);
std::string written(const SecretSource& value, const Shape& shape);
std::string written(Trend value, const Shape& shape);
std::string written(WhenDown value, const Shape& shape);
std::string written(DayVolumeIncludes value, const Shape& shape);
std::string written(SplitGuard value, const Shape& shape);
std::string written(Halts value, const Shape& shape);
std::string written(TickTable value, const Shape& shape);
std::string written(BarTreatment value, const Shape& shape);
std::string written(Tape value, const Shape& shape);
std::string written(char value, const Shape& shape);
std::string written(const std::vector<NoticeKind>& value, const Shape& shape);
std::string written(const std::vector<Weight>& value, const Shape& shape);

}  // namespace brimwatch
