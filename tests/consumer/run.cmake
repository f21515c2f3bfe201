# cmake -D... -P run.cmake: installs the library, builds the project beside this file against it and runs the
# program.
cmake_minimum_required(VERSION 3.25)

function(run)
  execute_process(COMMAND ${ARGV} RESULT_VARIABLE result OUTPUT_VARIABLE output ERROR_VARIABLE output)
  if(NOT result EQUAL 0)
    list(JOIN ARGV " " command)
    message(FATAL_ERROR "${command}\nended with ${result}:\n${output}")
  endif()
  set(output "${output}" PARENT_SCOPE)
endfunction()

set(prefix "${WORK_DIR}/prefix")
set(build "${WORK_DIR}/build")
file(REMOVE_RECURSE "${WORK_DIR}")  # nothing of an earlier run may help

run("${CMAKE_COMMAND}" --install "${BUILD_DIR}" --prefix "${prefix}" --config "${CONFIG}")
# Without Eigen: the library needs it to be built, its users do not.
run("${CMAKE_COMMAND}" -S "${SOURCE_DIR}" -B "${build}" -G "${GENERATOR}"
  "-DCMAKE_MAKE_PROGRAM=${MAKE_PROGRAM}" "-DCMAKE_CXX_COMPILER=${CXX_COMPILER}"
  "-DCMAKE_CXX_FLAGS=${CXX_FLAGS}"
  "-DCMAKE_BUILD_TYPE=${CONFIG}" "-DCMAKE_PREFIX_PATH=${prefix}" "-DBoost_DIR=${Boost_DIR}"
  "-DWANTED_VERSION=${VERSION}" -DCMAKE_DISABLE_FIND_PACKAGE_Eigen3=ON
  -DCMAKE_FIND_USE_PACKAGE_REGISTRY=OFF)

# The one that was found must be the one that was just installed.
file(STRINGS "${build}/CMakeCache.txt" found REGEX "^wheelend_DIR:")
string(FIND "${found}" "=${prefix}/" at)
if(at EQUAL -1)
  message(FATAL_ERROR "another wheelend was found: ${found}")
endif()

run("${CMAKE_COMMAND}" --build "${build}" --config "${CONFIG}")

find_program(program consumer PATHS "${build}" "${build}/${CONFIG}" NO_DEFAULT_PATH REQUIRED)
run("${program}")
string(CONCAT expected "4/32 in is 3.175 mm\n" "3.17 mm is below 4/32 in\n" "3.175 mm is equal to 4/32 in\n"
  "3.18 mm is above 4/32 in\n")
if(NOT output STREQUAL expected)
  message(FATAL_ERROR "expected:\n${expected}got:\n${output}")
endif()
