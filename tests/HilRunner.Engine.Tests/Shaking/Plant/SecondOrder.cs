namespace HilRunner.Engine.Tests.Shaking.Plant;

/// <summary>
/// x″ = ω²(u − x) + 2ζω(v·du/dt − x′) in state space, stepped exactly for an input that goes in a straight line over a step: its
/// matrices are those of the augmented matrix exponential (Van Loan, IEEE Trans. Automat. Contr. 23(3):395–404, 1978).
/// </summary>
internal sealed class SecondOrder
{
    private readonly double _omega2, _two, _carried, _dt;
    // x, x′, u, u′ over a step.
    private readonly double[,] _step;
    private double _u;

    /// <param name="hz">Natural frequency.</param>
    /// <param name="damping">ζ, as a share of the critical.</param>
    /// <param name="carried">1: the damper stands on the input, as a mass on a moving base has it; 0: on firm ground.</param>
    /// <param name="dt">Of a step, in s.</param>
    public SecondOrder(double hz, double damping, double carried, double dt)
    {
        double omega = 2 * Math.PI * hz;
        (_omega2, _two, _carried, _dt) = (omega * omega, 2 * damping * omega, carried, dt);
        _step = Exponential(new[,]
        {
            { 0, 1, 0, 0 },
            { -_omega2, -_two, _omega2, _two * carried },
            { 0, 0, 0, 1 },
            { 0, 0, 0, 0 },
        }, dt);
    }

    public double X { get; private set; }

    public double V { get; private set; }

    /// <summary>At the end of the step.</summary>
    public double A { get; private set; }

    public void Step(double u)
    {
        double slope = (u - _u) / _dt;
        double x = _step[0, 0] * X + _step[0, 1] * V + _step[0, 2] * _u + _step[0, 3] * slope;
        double v = _step[1, 0] * X + _step[1, 1] * V + _step[1, 2] * _u + _step[1, 3] * slope;
        (X, V, _u) = (x, v, u);
        A = _omega2 * (u - x) + _two * (_carried * slope - v);
    }

    private static double[,] Exponential(double[,] matrix, double t)
    {
        int n = matrix.GetLength(0);
        double[,] sum = new double[n, n], term = new double[n, n], small = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            (sum[i, i], term[i, i]) = (1, 1);
            for (int j = 0; j < n; j++) { small[i, j] = matrix[i, j] * t / 1024; }
        }
        for (int k = 1; k <= 20; k++)
        {
            term = Product(term, small, 1.0 / k);
            for (int i = 0; i < n; i++) { for (int j = 0; j < n; j++) { sum[i, j] += term[i, j]; } }
        }
        for (int i = 0; i < 10; i++) { sum = Product(sum, sum, 1); }
        return sum;
    }

    private static double[,] Product(double[,] a, double[,] b, double scale)
    {
        int n = a.GetLength(0);
        var c = new double[n, n];
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                for (int k = 0; k < n; k++) { c[i, j] += scale * a[i, k] * b[k, j]; }
            }
        }
        return c;
    }
}
