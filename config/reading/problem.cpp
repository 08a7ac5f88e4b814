#include "config/reading/problem.h"

#include <algorithm>
#include <utility>

namespace brimwatch {

std::string to_string(const Problem& problem) {
  std::string out = problem.file;
  if (problem.line > 0) out.append(":").append(std::to_string(problem.line));
  if (problem.line > 0 && problem.column > 0) out.append(":").append(std::to_string(problem.column));
  return out.append(": ").append(problem.text);
}

void Problems::add(const Place& place, std::string text) {
  if (found_.size() < kMost) found_.push_back({place, std::move(text)});
  else ++left_out_;
}

std::vector<Problem> Problems::take(const std::vector<std::string>& files) {
  std::stable_sort(found_.begin(), found_.end(), [](const Found& a, const Found& b) { return a.place < b.place; });
  std::vector<Problem> out;
  for (Found& one : found_) {
    const std::string& file = one.place.file < files.size() ? files[one.place.file] : files.front();
    out.push_back({file, one.place.line, one.place.column, std::move(one.text)});
  }
  if (left_out_ > 0) {
    out.push_back({files.front(), 0, 0, "and " + std::to_string(left_out_) + " more of the kind, not shown"});
  }
  found_.clear();
  left_out_ = 0;
  return out;
}

}  // namespace brimwatch
