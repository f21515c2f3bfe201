# One interface target with the warnings that every file of ours is compiled with.
add_library(wheelend_warnings INTERFACE)
target_compile_options(wheelend_warnings INTERFACE -Wall -Wextra -Wpedantic -Wconversion -Wsign-conversion
  -Wshadow -Wnon-virtual-dtor -Wold-style-cast $<$<BOOL:${WHEELEND_WARNINGS_AS_ERRORS}>:-Werror>)
