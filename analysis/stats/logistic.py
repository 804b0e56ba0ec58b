"""Logistic regression that holds up with few goals: penalised, checked for separation, judged on shots it has not seen.

With few goals some habit is bound to have none at all, and plain maximum likelihood then runs off to infinity.
Firth's penalty keeps every coefficient finite and takes the first-order bias out. How good a model is is never read
off the shots it was fitted on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from analysis.errors import NumbersError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

FIRTH = "firth"
LIKELIHOOD = "maximum likelihood"
_MOST_STEPS = 200
_LONGEST_STEP = 5.0


@dataclass(frozen=True)
class Fit:
    """A fitted logistic regression.

    Attributes
    ----------
    coef, se : float64 array of shape (p,)
        Coefficients (log odds) and their standard errors, of the columns of x.
    log_likelihood : float
        Of the data, without the penalty.
    converged : bool
        Whether the last step was small.
    method : str
        "firth" or "maximum likelihood".
    """

    coef: NDArray[np.float64]
    se: NDArray[np.float64]
    log_likelihood: float
    converged: bool
    method: str

    def chances(self, x: ArrayLike) -> NDArray[np.float64]:
        """Give the probability of a success for new rows.

        Parameters
        ----------
        x : array-like of shape (n, p)
            The same columns.

        Returns
        -------
        float64 array of shape (n,)
            Between 0 and 1.
        """
        return _expit(np.asarray(x, dtype=np.float64) @ self.coef)


def fit(x: ArrayLike, y: ArrayLike, trials: ArrayLike | None = None, *, method: str = FIRTH) -> Fit:
    """Fit a logistic regression.

    Parameters
    ----------
    x : array-like of shape (n, p)
        Columns, a constant among them if there shall be one; of full rank.
    y : array-like of shape (n,)
        Successes.
    trials : array-like of shape (n,), optional
        Trials of each row; 1 if not given.
    method : str
        "firth" or "maximum likelihood"; the latter does not converge on separable data, see `separated`.

    Returns
    -------
    Fit
        Coefficients and what belongs to them.

    Raises
    ------
    NumbersError
        More successes than trials.

    Notes
    -----
    D. Firth 1993, Biometrika 80:27–38; G. Heinze & M. Schemper 2002, Statistics in Medicine 21:2409–2419: the log
    likelihood is climbed together with ½ ln |X'WX|, whose score adds h(½ − p) to each residual, h the leverages.
    Newton steps, halved until they climb enough (Armijo).
    """
    columns, successes = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    n = np.ones_like(successes) if trials is None else np.asarray(trials, dtype=np.float64)
    if not (np.all(successes >= 0) and np.all(successes <= n)):
        raise NumbersError("successes must lie between 0 and the number of trials")
    firth = method == FIRTH
    beta = np.zeros(columns.shape[1])
    height = _height(columns, successes, n, beta, firth)
    converged = False
    for _ in range(_MOST_STEPS):
        p = _expit(columns @ beta)
        weight = n * p * (1 - p)
        information = columns.T @ (columns * weight[:, None])
        residual = successes - n * p
        if firth:
            leverage = weight * np.einsum("ij,ij->i", columns @ np.linalg.pinv(information), columns)
            residual = residual + leverage * (0.5 - p)
        slope = columns.T @ residual
        step = np.linalg.pinv(information) @ slope
        step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max(initial=0.0)), 1e-300))
        new, new_height = beta + step, _height(columns, successes, n, beta + step, firth)
        for _ in range(30):
            if new_height >= height + 0.1 * float(slope @ step) - 1e-14 * max(1.0, abs(height)):
                break
            step /= 2
            new, new_height = beta + step, _height(columns, successes, n, beta + step, firth)
        beta, height = new, new_height
        if float(np.abs(step).max(initial=0.0)) < 1e-9:
            converged = True
            break
    p = _expit(columns @ beta)
    information = columns.T @ (columns * (n * p * (1 - p))[:, None])
    se = np.sqrt(np.maximum(np.diag(np.linalg.pinv(information)), 0))
    return Fit(beta, se, _height(columns, successes, n, beta, False), converged, method)


def levelled(found: Fit, x: ArrayLike, y: ArrayLike) -> Fit:
    """Set the constant anew so that the probabilities add up to the successes.

    Parameters
    ----------
    found : Fit
        A fit whose first column is a constant.
    x : array-like of shape (n, p)
        The rows it was fitted on.
    y : array-like of bool, shape (n,)
        Their successes; with none or nothing else the fit is left as it is.

    Returns
    -------
    Fit
        The same, but for the first coefficient.

    Notes
    -----
    Firth's penalty draws probabilities towards ½. R. Puhr, G. Heinze, M. Nold, L. Lusa & A. Geroldinger 2017,
    Statistics in Medicine 36:2302–2317, keep its slopes and refit the constant by maximum likelihood ("FLIC").
    """
    columns, successes = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if not 0 < successes.sum() < len(successes):
        return found
    coef = found.coef.copy()
    for _ in range(_MOST_STEPS):
        p = _expit(columns @ coef)
        step = (successes.sum() - p.sum()) / max(float(np.sum(p * (1 - p))), 1e-12)
        coef[0] += float(np.clip(step, -2, 2))
        if abs(step) < 1e-11:
            break
    return replace(found, coef=coef, log_likelihood=_height(columns, successes, np.ones_like(successes), coef, False))


def separated(x: ArrayLike, y: ArrayLike) -> bool:
    """Say whether some combination of the columns tells successes from failures without error.

    Parameters
    ----------
    x : array-like of shape (n, p)
        Columns.
    y : array-like of bool, shape (n,)
        Successes.

    Returns
    -------
    bool
        True when maximum likelihood has no finite answer (complete or quasi-complete separation).

    Notes
    -----
    A. Albert & J. A. Anderson 1984, Biometrika 71:1–10; found by linear programming as in K. Konis 2007: is there a b
    with ±Xb ≥ 0 for all rows and > 0 for some?
    """
    from scipy.optimize import linprog

    columns, successes = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=bool)
    if len(successes) == 0:
        return True
    signed = np.where(successes, 1.0, -1.0)[:, None] * columns
    found = linprog(-signed.sum(axis=0), A_ub=-signed, b_ub=np.zeros(len(signed)), bounds=(-1, 1), method="highs")
    return bool(-found.fun > 1e-7)


@dataclass(frozen=True)
class Score:
    """How good probabilities were for what happened.

    Attributes
    ----------
    brier : float
        Mean squared error of the probabilities.
    log_loss : float
        Mean negative log likelihood per row, natural logarithm.
    """

    brier: float
    log_loss: float


def score(p: ArrayLike, y: ArrayLike) -> Score:
    """Judge probabilities by what happened.

    Parameters
    ----------
    p : array-like of float
        Probabilities.
    y : array-like of bool
        What happened.

    Returns
    -------
    Score
        Brier score (G. W. Brier 1950) and log loss; NaN for no rows.
    """
    chance, came = np.asarray(p, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if len(came) == 0:
        return Score(float("nan"), float("nan"))
    safe = np.clip(chance, 1e-15, 1 - 1e-15)
    loss = -np.mean(came * np.log(safe) + (1 - came) * np.log1p(-safe))
    return Score(float(np.mean((chance - came) ** 2)), float(loss))


def unseen_chances(
    x: ArrayLike,
    y: ArrayLike,
    folds: NDArray[np.intp],
    learn: Callable[[NDArray[np.float64], NDArray[np.float64]], Fit],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Give every row the probability of a model that has not seen it, and the base rate of the same other rows.

    Parameters
    ----------
    x : array-like of shape (n, p)
        Columns.
    y : array-like of bool, shape (n,)
        Successes.
    folds : intp array of shape (n,)
        Which rows are left out together.
    learn : callable
        All that is done to make a model of columns and successes: what was chosen by looking at rows is chosen anew.

    Returns
    -------
    tuple of float64 array
        Out-of-fold probabilities of the model, and of the base rate.
    """
    columns, came = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    chance, base = np.empty(len(came)), np.empty(len(came))
    for fold in np.unique(folds):
        out = folds == fold
        chance[out] = learn(columns[~out], came[~out]).chances(columns[out])
        base[out] = came[~out].mean() if (~out).any() else np.nan
    return chance, base


def _expit(odds: NDArray[np.float64]) -> NDArray[np.float64]:
    return 1 / (1 + np.exp(-np.clip(odds, -500, 500)))


def _height(
    x: NDArray[np.float64], y: NDArray[np.float64], n: NDArray[np.float64], beta: NDArray[np.float64], firth: bool
) -> float:
    odds = x @ beta
    height = float(np.sum(y * odds - n * np.logaddexp(0, odds)))
    if firth:
        p = _expit(odds)
        sign, log_det = np.linalg.slogdet(x.T @ (x * (n * p * (1 - p))[:, None]))
        height += 0.5 * float(log_det) if sign > 0 else -np.inf
    return height
