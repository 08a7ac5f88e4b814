#pragma once
// MessagePack (the specification at github.com/msgpack/msgpack/blob/master/spec.md) written anew as JSON text, so that
// one decoder reads both. Pure and total.
#include <string>
#include <string_view>

namespace brimwatch {

/// Appends the JSON of one MessagePack value. Integers and floats keep every digit that they have (a 32-bit float gets
/// the shortest text that reads back as it: 48.35, not 48.349998); a timestamp becomes RFC 3339 text; binary data and
/// other extensions become null; not-a-number and infinity become "NaN", which is no JSON and costs its message only.
/// Empty when all is well, else what is wrong: then `out` holds nothing of use.
[[nodiscard]] std::string_view json_of_msgpack(std::string_view bytes, std::size_t most, std::string& out);

}  // namespace brimwatch
