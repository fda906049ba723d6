using HilRunner.Core.Files;
using HilRunner.Inspection.Rest;

namespace HilRunner.Inspection.Reference;

/// <summary>Mean and covariance (n) of the acceleration in a class, g and g².</summary>
internal sealed record ClassMoments(Triple Mean, double[,] Covariance)
{
    /// <summary>By class; the whole recording under "" too. Empty without three axes.</summary>
    public static IReadOnlyDictionary<string, ClassMoments> Of(InspectionContext context)
    {
        var moments = new Dictionary<string, ClassMoments>(StringComparer.Ordinal);
        if (context.Acceleration is not { } a) { return moments; }
        foreach (var (name, segments) in context.Segments.ByClass)
        {
            if (Of(a, segments.Select(s => (s.From, s.To))) is { } m) { moments.Add(name, m); }
        }
        if (Of(a, [(0, context.Axis.Count)]) is { } all) { moments.TryAdd("", all); }
        return moments;
    }

    private static ClassMoments? Of(Series<double>[] a, IEnumerable<(int From, int To)> parts)
    {
        var sum = new double[3];
        var products = new double[3, 3];
        long count = 0;
        foreach (var (from, to) in parts)
        {
            for (int n = from; n < to; n++)
            {
                double x = a[0][n], y = a[1][n], z = a[2][n];
                if (double.IsNaN(x + y + z)) { continue; }
                count++;
                sum[0] += x; sum[1] += y; sum[2] += z;
                products[0, 0] += x * x; products[1, 1] += y * y; products[2, 2] += z * z;
                products[0, 1] += x * y; products[0, 2] += x * z; products[1, 2] += y * z;
            }
        }
        if (count == 0) { return null; }
        var covariance = new double[3, 3];
        for (int i = 0; i < 3; i++)
        {
            for (int j = i; j < 3; j++) { covariance[i, j] = covariance[j, i] = products[i, j] / count - sum[i] / count * (sum[j] / count); }
        }
        return new(new(sum[0] / count, sum[1] / count, sum[2] / count), covariance);
    }

    /// <summary>
    /// How badly this, with its axes renamed, fits another, squared, g²: the distance of the means, and the differences of the roots of all
    /// covariances with their signs (on the diagonal: of the deviations), which tell directions apart where no gravity does.
    /// </summary>
    public double Misfit(AxisExchange exchange, ClassMoments other)
    {
        var mean = exchange.Apply(Mean);
        double sum = 0;
        for (int i = 0; i < 3; i++)
        {
            double off = mean[i] - other.Mean[i];
            sum += off * off;
            for (int j = 0; j < 3; j++)
            {
                double spread = Root(exchange.Apply(Covariance, i, j)) - Root(other.Covariance[i, j]);
                sum += spread * spread / 2;
            }
        }
        return sum;
    }

    private static double Root(double value) => value < 0 ? -Math.Sqrt(-value) : Math.Sqrt(value);
}
