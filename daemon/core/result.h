#pragma once
// Errors as values. A bug asserts; bad input and failing peers return one of these; only main exits.
#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace brimwatch {

/// What went wrong, as one line for a person: where, what was found, what is allowed, what was done about it.
struct Error {
  std::string text;
};

template <typename T>
using Result = tl::expected<T, Error>;

using Status = Result<void>;

inline tl::unexpected<Error> fail(std::string text) { return tl::unexpected<Error>(Error{std::move(text)}); }

}  // namespace brimwatch
