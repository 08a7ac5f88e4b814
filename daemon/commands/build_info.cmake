# cmake -DSOURCE=DIR -DOUT=FILE -P build_info.cmake: writes the commit this is built from, "" outside of a clone. Run at every
# build; the file changes only when the commit does, so that nothing else is compiled again. No date: the same sources give
# the same program.
set(commit "")
find_program(git git)
if(git)
  execute_process(COMMAND ${git} -C ${SOURCE} rev-parse --short=10 HEAD OUTPUT_VARIABLE commit ERROR_QUIET
                  OUTPUT_STRIP_TRAILING_WHITESPACE RESULT_VARIABLE failed)
  if(failed)
    set(commit "")
  else()
    execute_process(COMMAND ${git} -C ${SOURCE} diff --quiet HEAD -- RESULT_VARIABLE changed ERROR_QUIET)
    if(changed)
      string(APPEND commit ", changed")
    endif()
  endif()
endif()
file(CONFIGURE OUTPUT ${OUT} CONTENT "// Made by build_info.cmake. Do not edit.
#include \"commands/version.h\"

namespace brimwatch {
const char* const kBuiltFrom = \"${commit}\";
}  // namespace brimwatch
" @ONLY)
