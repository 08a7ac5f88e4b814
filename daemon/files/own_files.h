#pragma once
// The one place that makes, locks, replaces, cuts and removes files. Whatever name it is given: it follows no link to do
// so, and touches nothing that is not a plain file (or socket) of our own making. scripts/check-arrows sees to it that
// nothing else does; SQLite alone opens the journal. Errors name the path and say what was left alone.
// What root makes in the folder of another user is that user's, so that the system service can use what a command made.
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "core/result.h"
#include "files/descriptor.h"

namespace brimwatch {

/// A new file for writing, which must not be there yet, for its owner alone.
[[nodiscard]] Result<Descriptor> create_new_file(const std::string& path);

/// The folder of `path` and what it lies in, where they are missing; what is made is for its owner alone.
[[nodiscard]] Status make_folder_of(const std::string& path);

/// The whole file, or nothing of it: written beside it under a name of its own, synced, put in its place. What was there
/// goes, a link included; what a link leads to stays.
Status replace_file(const std::string& path, std::string_view bytes, unsigned mode = 0600);

/// Removes what replace_file left in the folder of a process that was killed: of files whose names `is_ours` knows, and
/// that nobody writes now. Says how many.
std::size_t remove_unfinished(const std::string& folder, const std::function<bool(std::string_view name)>& is_ours);

/// For a path that a person gives to a command: as replace_file, but through a link to a plain file, and straight into
/// what is no plain file (/dev/stdout, a named pipe).
Status write_output(const std::string& path, std::string_view bytes);

/// `path` gets the name `to`; nothing where there is none.
Status rename_aside(const std::string& path, const std::string& to);

/// A finished file gets its name, which must be free.
Status put_in_place(const std::string& part, const std::string& to);

/// Removes a plain file. False where it is none, is not there, or will not go.
bool remove_plain_file(const std::string& path);

/// Removes a socket of ours, so that another can take its name. Fine where there is none. `only`: no other than that one
/// (its inode).
Status remove_socket(const std::string& path, std::uint64_t only = 0);
/// Which file stands there, a link itself and not its target; 0: none.
[[nodiscard]] std::uint64_t inode_at(const std::string& path);

/// A lock file, made where there is none: a plain file of ours, with one name, and nothing in it but a number.
[[nodiscard]] Result<Descriptor> open_lock_file(const std::string& path);
/// Takes the lock at once; false where another holds it. It ends when the descriptor is closed.
[[nodiscard]] bool try_lock(const Descriptor& file);
void write_lock_owner(const Descriptor& file, std::string_view number);

/// The path that `path` comes to when all links are followed, the last one too, and also where nothing is there yet: one
/// file, one path. As it is where that cannot be found out.
[[nodiscard]] std::string without_links(const std::string& path);

/// A folder of our own under TMPDIR; with all that is in it, gone at the end.
class TemporaryFolder {
 public:
  static Result<TemporaryFolder> make();
  TemporaryFolder(TemporaryFolder&& other) noexcept : path_(std::move(other.path_)) { other.path_.clear(); }
  TemporaryFolder& operator=(TemporaryFolder&&) = delete;
  ~TemporaryFolder();
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  explicit TemporaryFolder(std::string path) : path_(std::move(path)) {}
  std::string path_;
};

}  // namespace brimwatch
