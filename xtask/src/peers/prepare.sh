# Fetches and builds the peers in the current folder, a writable copy of the peers folder; what is there is kept.
# The commands are those of its run_all.sh, without the measurements. $1: folder of this script's neighbors.
set -e
[ -d venv ] || { python3 -m venv venv.new && ./venv.new/bin/pip -q install numpy scipy scikit-image opencv-python-headless connected-components-3d numba bottleneck && mv venv.new venv; }
# Debian's OpenCV without touching the system.
[ -d ocv/root ] || {
  mkdir -p ocv/debs
  (cd ocv/debs && apt-get -q download libopencv-core406 libopencv-imgproc406 libopencv-core-dev libopencv-imgproc-dev libtbb12 libblas3 liblapack3 libgfortran5 libquadmath0)
  for deb in ocv/debs/*.deb; do dpkg -x "$deb" ocv/root.new; done
  mv ocv/root.new ocv/root
}
[ -f frames/index.tsv ] || ./venv/bin/python gen.py >/dev/null
[ -f frames/rot.tsv ] || ./venv/bin/python gen_rot.py
[ -f frames/rot_more.tsv ] || ./venv/bin/python "$1/rotate.py" .
[ -x peers_c/ocv_rot ] && [ -x peers_c/conv_gather ] || sh peers_c/build.sh
gcc -O2 -Wall -Werror -shared -fPIC "$1/thread_time.c" -o thread_time.so
# The folder lies inside another workspace, which would claim the package.
grep -q '^\[workspace\]' peers_rs/Cargo.toml || printf '\n[workspace]\n' >>peers_rs/Cargo.toml
# Its own target folders and flags, whatever the caller's are.
unset CARGO_BUILD_TARGET CARGO_ENCODED_RUSTFLAGS
cd peers_rs
RUSTFLAGS="" CARGO_TARGET_DIR=target cargo build --release >build.log 2>&1 || { cat build.log; exit 1; }
RUSTFLAGS="-C target-cpu=native" CARGO_TARGET_DIR=target-native cargo build --release --no-default-features --features kornia >build.log 2>&1 || { cat build.log; exit 1; }
