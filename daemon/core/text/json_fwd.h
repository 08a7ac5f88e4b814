#pragma once
// The two kinds of JSON value, for headers that only name them.
#include <nlohmann/json_fwd.hpp>

namespace brimwatch {

using Json = nlohmann::json;                 ///< keys sorted: what is read, and what only programs read
using OrderedJson = nlohmann::ordered_json;  ///< keys as they were put in: what people read too

}  // namespace brimwatch
