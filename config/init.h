#pragma once
// The first configuration: sample files from the program itself, written where they belong.
#include <string>
#include <vector>

#include "core/result.h"

namespace brimwatch {

struct InitPlan {
  std::string directory;        ///< for the configuration and the lists
  std::string unit_directory;   ///< for the service of the user's own systemd
  std::string program;          ///< absolute path of this program, for the service
  bool force = false;           ///< replace files; the old ones are kept beside as NAME.old
  bool shared = false;          ///< readable by all: for the system service, which brings its own unit
  std::string packaged_unit{};  ///< what the package of this program has installed; no unit is written then. Empty: none
};

/// The plan for the places XDG gives; `directory`, when not empty, takes all files.
[[nodiscard]] InitPlan plan_init(const std::string& directory, bool force);

/// The plan for the system service: /etc/brimwatch, or another folder.
[[nodiscard]] InitPlan plan_system_init(const std::string& directory, bool force);

/// Paths written. All or nothing: without `force`, files that are there already are an error that names them all.
[[nodiscard]] Result<std::vector<std::string>> write_first_files(const InitPlan& plan);

/// A unit of the user's own that stands before the packaged one, as an earlier init wrote it; empty: none.
[[nodiscard]] std::string unit_in_the_way(const InitPlan& plan);

/// A path as one word of a unit's ExecStart=: quoted where needed, specifiers taken literally.
[[nodiscard]] std::string unit_word(std::string_view path);

}  // namespace brimwatch
