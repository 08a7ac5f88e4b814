#include "files/own_files.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <filesystem>

namespace brimwatch {
namespace {

namespace fs = std::filesystem;

constexpr int kLinksMost = 40;
constexpr std::size_t kOwnerMost = 32;  // bytes of a process's number

tl::unexpected<Error> fail_errno(const std::string& path, const char* what) {
  return fail(path + ": " + what + ": " + std::strerror(errno));
}

bool write_all(const Descriptor& file, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t put = ::write(file.get(), bytes.data(), bytes.size());
    if (put < 0 && errno == EINTR) continue;
    if (put <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(put));
  }
  return true;
}

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
}

/// The new name is on disk only when the folder is.
void sync_folder(const std::string& folder) {
  const Descriptor file(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (file.is_open()) ::fsync(file.get());
}

/// What root makes in the folder of another user, as for the system service, is that user's: who could not read it
/// otherwise, or not write it.
void give_to_owner_of(const std::string& folder, const Descriptor& file) {
  struct stat info {};
  if (::geteuid() != 0 || ::stat(folder.c_str(), &info) != 0 || info.st_uid == 0) return;
  (void)!::fchown(file.get(), info.st_uid, info.st_gid);
}

/// Fills and syncs the file and gives it its mode. errno says what failed.
bool finish(const Descriptor& file, std::string_view bytes, mode_t mode) {
  return write_all(file, bytes) && ::fchmod(file.get(), mode) == 0 && ::fsync(file.get()) == 0;
}

constexpr std::string_view kUnfinishedEnd = ".XXXXXX";  // mkostemp(3) puts letters and digits there

/// A file beside `path` that is locked as long as somebody writes it: what a dead process leaves is free. Whoever clears
/// may come between the making and the lock; then another one is made.
Descriptor begin_unfinished(const std::string& path, std::string& beside) {
  constexpr int kTries = 10;
  for (int i = 0; i < kTries; ++i) {
    beside = folder_of(path) + "/." + fs::path(path).filename().string() + std::string(kUnfinishedEnd);
    Descriptor file(::mkostemp(beside.data(), O_CLOEXEC));
    struct stat info {};
    if (!file.is_open() || ::fstat(file.get(), &info) != 0) return {};
    const bool locked = ::flock(file.get(), LOCK_EX | LOCK_NB) == 0;
    if (!locked && errno != EWOULDBLOCK) return file;  // a file system without locks
    if (locked && inode_at(beside) == info.st_ino) return file;
  }
  return errno = EAGAIN, Descriptor();
}

/// The name of the file that this was to become; empty: it is none of those.
std::string_view name_when_finished(std::string_view name) {
  if (name.size() <= kUnfinishedEnd.size() + 1 || name.front() != '.') return {};
  const std::string_view end = name.substr(name.size() - kUnfinishedEnd.size());
  const bool is_one = end.front() == '.' && std::all_of(end.begin() + 1, end.end(), [](unsigned char c) {
                        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
                      });
  return is_one ? name.substr(1, name.size() - kUnfinishedEnd.size() - 1) : std::string_view();
}

/// Removes it where nobody writes it.
bool remove_if_free(const std::string& path) {
  const Descriptor file(::open(path.c_str(), O_RDWR | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY));
  struct stat info {};
  if (!file.is_open() || ::fstat(file.get(), &info) != 0 || !S_ISREG(info.st_mode) || info.st_nlink != 1) return false;
  if (info.st_uid != ::geteuid() && ::geteuid() != 0) return false;
  return ::flock(file.get(), LOCK_EX | LOCK_NB) == 0 && inode_at(path) == info.st_ino && ::unlink(path.c_str()) == 0;
}

bool is_number(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

/// Empty, or why it is no lock file of ours.
std::string objection(const Descriptor& file) {
  struct stat info {};
  if (::fstat(file.get(), &info) != 0) return std::strerror(errno);
  if (!S_ISREG(info.st_mode)) return "is no plain file";
  if (info.st_uid != ::geteuid() && ::geteuid() != 0) return "belongs to another user";
  if (info.st_nlink > 1) return "has a second name (a hard link)";
  std::array<char, kOwnerMost + 1> text{};
  const ssize_t got = ::pread(file.get(), text.data(), text.size(), 0);
  if (got < 0) return std::strerror(errno);
  const bool ours = got <= static_cast<ssize_t>(kOwnerMost) && is_number({text.data(), static_cast<std::size_t>(got)});
  return ours ? "" : "holds something else than a process's number";
}

}  // namespace

Result<Descriptor> create_new_file(const std::string& path) {
  Descriptor file(::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600));
  if (!file.is_open()) return fail_errno(path, "cannot be made");
  give_to_owner_of(folder_of(path), file);
  return file;
}

Status make_folder_of(const std::string& path) {
  const fs::path folder = fs::path(path).parent_path();
  std::error_code error;
  if (folder.empty() || fs::exists(folder, error)) return {};
  if (const Status outer = make_folder_of(folder.string()); !outer) return outer;
  if (::mkdir(folder.c_str(), 0700) == 0 || errno == EEXIST) return {};
  return fail_errno(folder.string(), "the folder cannot be made");
}

Status replace_file(const std::string& path, std::string_view bytes, unsigned mode) {
  const std::string folder = folder_of(path);
  std::string beside;
  const Descriptor file = begin_unfinished(path, beside);
  if (!file.is_open()) return fail_errno(path, "cannot be made");
  give_to_owner_of(folder, file);
  if (finish(file, bytes, mode) && ::rename(beside.c_str(), path.c_str()) == 0) {
    sync_folder(folder);
    return {};
  }
  const auto failure = fail_errno(path, "cannot be written");
  ::unlink(beside.c_str());
  return failure;
}

std::size_t remove_unfinished(const std::string& folder, const std::function<bool(std::string_view name)>& is_ours) {
  std::size_t removed = 0;
  std::error_code error;
  fs::directory_iterator at(folder, error);
  for (; !error && at != fs::directory_iterator(); at.increment(error)) {
    const std::string name = at->path().filename().string();
    const std::string_view whole = name_when_finished(name);
    if (!whole.empty() && is_ours(whole) && remove_if_free(at->path().string())) ++removed;
  }
  return removed;
}

Status write_output(const std::string& path, std::string_view bytes) {
  const std::string target = without_links(path);
  struct stat info {};
  const bool there = ::stat(target.c_str(), &info) == 0;
  if (there && S_ISREG(info.st_mode)) return replace_file(target, bytes, info.st_mode & 0777U);
  const Descriptor file(there ? ::open(target.c_str(), O_WRONLY | O_CLOEXEC | O_NOCTTY)
                              : ::open(target.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666));
  if (!file.is_open()) return fail_errno(path, "cannot be opened");
  return write_all(file, bytes) ? Status() : fail_errno(path, "cannot be written");
}

Status rename_aside(const std::string& path, const std::string& to) {
  if (::rename(path.c_str(), to.c_str()) == 0 || errno == ENOENT || errno == ENOTDIR) return {};
  return fail_errno(path, ("cannot be kept as " + to).c_str());
}

Status put_in_place(const std::string& part, const std::string& to) {
  const Descriptor file(::open(part.c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW));
  if (!file.is_open() || ::fsync(file.get()) != 0) return fail_errno(part, "cannot be synced");
  int done = ::renameat2(AT_FDCWD, part.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE);
  // A file system that knows no such thing (renameat2(2), EINVAL): looked at first, then.
  if (done != 0 && errno == EINVAL) done = inode_at(to) == 0 ? ::rename(part.c_str(), to.c_str()) : (errno = EEXIST, -1);
  if (done != 0) return fail_errno(to, "cannot get its name");
  sync_folder(folder_of(to));
  return {};
}

bool remove_plain_file(const std::string& path) {
  struct stat info {};
  return ::lstat(path.c_str(), &info) == 0 && S_ISREG(info.st_mode) && ::unlink(path.c_str()) == 0;
}

Status remove_socket(const std::string& path, std::uint64_t only) {
  struct stat info {};
  if (::lstat(path.c_str(), &info) != 0) return errno == ENOENT ? Status() : fail_errno(path, "cannot be looked at");
  if (only != 0 && info.st_ino != only) return {};
  if (!S_ISSOCK(info.st_mode)) return fail(path + ": is no socket; it was left alone, give another path");
  if (info.st_uid != ::geteuid()) return fail(path + ": belongs to another user; it was left alone, give another path");
  return ::unlink(path.c_str()) == 0 ? Status() : fail_errno(path, "cannot be removed");
}

std::uint64_t inode_at(const std::string& path) {
  struct stat info {};
  return ::lstat(path.c_str(), &info) == 0 ? info.st_ino : 0;
}

Result<Descriptor> open_lock_file(const std::string& path) {
  Descriptor file(::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK | O_NOCTTY, 0600));
  if (!file.is_open() && errno == ELOOP) return fail(path + ": is a link; it was left alone");
  if (!file.is_open()) return fail_errno(path, "cannot be opened");
  const std::string why = objection(file);
  if (why.empty()) return give_to_owner_of(folder_of(path), file), std::move(file);
  return fail(path + ": " + why + "; it was left alone");
}

bool try_lock(const Descriptor& file) { return ::flock(file.get(), LOCK_EX | LOCK_NB) == 0; }

void write_lock_owner(const Descriptor& file, std::string_view number) {
  if (::ftruncate(file.get(), 0) == 0) (void)!::pwrite(file.get(), number.data(), number.size(), 0);
}

std::string without_links(const std::string& path) {
  std::error_code error;
  fs::path at = path;
  for (int links = 0; fs::is_symlink(at, error); ++links) {
    const fs::path to = fs::read_symlink(at, error);
    if (error || links == kLinksMost) return path;
    at = to.is_absolute() ? to : at.parent_path() / to;
  }
  const fs::path folder = fs::weakly_canonical(fs::absolute(at, error).parent_path(), error);
  return error ? path : (folder / at.filename()).string();
}

Result<TemporaryFolder> TemporaryFolder::make() {
  std::error_code error;
  std::string name = (fs::temp_directory_path(error) / "brimwatch-XXXXXX").string();
  if (error || ::mkdtemp(name.data()) == nullptr)
    return fail("no temporary folder could be made in " + (error ? std::string("TMPDIR") : name));
  return TemporaryFolder(std::move(name));
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code error;
  if (!path_.empty()) fs::remove_all(path_, error);
}

}  // namespace brimwatch
