"""The normal distribution in decimal arithmetic, independent of the floating-point one."""

from decimal import Decimal, localcontext


def exact_below(z: Decimal) -> Decimal:
    """The normal distribution to 50 digits: 1/2 + φ(z) (z + z³/3 + z⁵/15 + …) (Abramowitz and Stegun 26.2.11)."""
    with localcontext() as context:
        context.prec = 60
        term = total = z
        n = 1
        while abs(term) > Decimal(10) ** -58:
            n += 2
            term *= z * z / n
            total += term
        pi = Decimal("3.14159265358979323846264338327950288419716939937510582097494")
        return Decimal("0.5") + total * (-z * z / 2).exp() / (2 * pi).sqrt()
