#include "opencv.h"

#include <cstring>
#include <exception>
#include <vector>

#include <opencv2/calib3d.hpp>
#include <opencv2/core/utility.hpp>
#include <opencv2/imgproc.hpp>

namespace {

// OpenCV prints every error that it throws; what is thrown is reported once, by
// whoever called.
int silent(int, const char *, const char *, const char *, int, void *) { return 0; }
const bool quiet = (cv::redirectError(silent), true);

// guard keeps exceptions on this side of the border.
template <typename F> int guard(char *why, F work) {
    try {
        work();
        return 1;
    } catch (const std::exception &e) {
        std::strncpy(why, e.what(), WHY - 1);
    } catch (...) {
        std::strncpy(why, "unknown exception", WHY - 1);
    }
    why[WHY - 1] = 0;
    return 0;
}

cv::Mat grey8(const unsigned char *grey, int width, int height) {
    return cv::Mat(height, width, CV_8UC1, const_cast<unsigned char *>(grey));
}

cv::Mat doubles(const double *v, int rows, int cols) {
    return cv::Mat(rows, cols, CV_64F, const_cast<double *>(v));
}

void copy(const cv::Mat &m, double *to, int n) {
    cv::Mat d;
    m.reshape(1, 1).convertTo(d, CV_64F);
    for (int i = 0; i < n && i < d.cols; i++)
        to[i] = d.at<double>(i);
}

} // namespace

extern "C" int ecart_find(const unsigned char *grey, int width, int height, int columns, int rows,
                          int sectors, float *xy, int *found, char *why) {
    return guard(why, [&] {
        cv::Mat picture = grey8(grey, width, height);
        cv::Size size(columns, rows);
        std::vector<cv::Point2f> at;
        bool ok = sectors
            ? cv::findChessboardCornersSB(picture, size, at, cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_EXHAUSTIVE | cv::CALIB_CB_ACCURACY)
            : cv::findChessboardCorners(picture, size, at, cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_FAST_CHECK);
        *found = ok && at.size() == size_t(columns) * size_t(rows);
        for (size_t i = 0; *found && i < at.size(); i++) {
            xy[2 * i] = at[i].x;
            xy[2 * i + 1] = at[i].y;
        }
    });
}

extern "C" int ecart_shrink(const unsigned char *grey, int width, int height,
                            unsigned char *small, int w, int h, char *why) {
    return guard(why, [&] {
        cv::Mat to = grey8(small, w, h);
        cv::resize(grey8(grey, width, height), to, cv::Size(w, h), 0, 0, cv::INTER_AREA);
    });
}

extern "C" int ecart_saddle(const unsigned char *grey, int width, int height, float *xy, int half, char *why) {
    return guard(why, [&] {
        std::vector<cv::Point2f> at{cv::Point2f(xy[0], xy[1])};
        cv::TermCriteria until(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 60, 1e-4);
        cv::cornerSubPix(grey8(grey, width, height), at, cv::Size(half, half), cv::Size(-1, -1), until);
        xy[0] = at[0].x;
        xy[1] = at[0].y;
    });
}

extern "C" int ecart_camera(int views, int n, const float *board, const float *seen, int width, int height,
                            int flags, int rounds, double *camera, double *bend, double *poses, double *sd, double *rms, char *why) {
    return guard(why, [&] {
        std::vector<cv::Point3f> flat(n);
        for (int i = 0; i < n; i++)
            flat[i] = cv::Point3f(board[2 * i], board[2 * i + 1], 0);
        std::vector<std::vector<cv::Point3f>> objects(views, flat);
        std::vector<std::vector<cv::Point2f>> pictures(views, std::vector<cv::Point2f>(n));
        for (int v = 0; v < views; v++)
            for (int i = 0; i < n; i++)
                pictures[v][i] = cv::Point2f(seen[2 * (v * n + i)], seen[2 * (v * n + i) + 1]);
        cv::Mat k = doubles(camera, 3, 3).clone(), d = doubles(bend, 1, 5).clone(), deviations;
        std::vector<cv::Mat> turns, shifts;
        cv::TermCriteria until(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, rounds, 1e-14);
        *rms = cv::calibrateCamera(objects, pictures, cv::Size(width, height), k, d, turns, shifts,
                                   deviations, cv::noArray(), cv::noArray(), flags, until);
        copy(k, camera, 9);
        copy(d, bend, 5);
        copy(deviations, sd, 9);
        for (int v = 0; v < views; v++) {
            copy(turns[v], poses + 6 * v, 3);
            copy(shifts[v], poses + 6 * v + 3, 3);
        }
    });
}

extern "C" int ecart_project(int n, const double *xyz, const double *camera, const double *bend, double *xy, char *why) {
    return guard(why, [&] {
        cv::Mat out;
        cv::projectPoints(doubles(xyz, n, 3), cv::Mat::zeros(3, 1, CV_64F), cv::Mat::zeros(3, 1, CV_64F),
                          doubles(camera, 3, 3), doubles(bend, 1, 5), out);
        copy(out, xy, 2 * n);
    });
}

extern "C" int ecart_straighten(int n, const double *xy, const double *camera, const double *bend, double *out, char *why) {
    return guard(why, [&] {
        cv::Mat from(n, 1, CV_64FC2, const_cast<double *>(xy)), to;
        cv::TermCriteria until(cv::TermCriteria::COUNT | cv::TermCriteria::EPS, 1000, 1e-12);
        cv::Mat k = doubles(camera, 3, 3);
        cv::undistortPoints(from, to, k, doubles(bend, 1, 5), cv::noArray(), k, until);
        copy(to, out, 2 * n);
    });
}
