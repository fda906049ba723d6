using HilRunner.Inspection.Rest;

namespace HilRunner.Inspection.Reference;

/// <summary>One of the 48 ways to name three axes and their directions anew: new axis i is <see cref="Sign"/>[i] × old axis <see cref="From"/>[i].</summary>
internal sealed record AxisExchange(int[] From, int[] Sign)
{
    private static readonly int[][] s_orders = [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]];

    /// <summary>The identity first, then by how many axes change.</summary>
    public static IReadOnlyList<AxisExchange> All { get; } =
        [.. s_orders.SelectMany(o => Enumerable.Range(0, 8).Select(s => new AxisExchange(o, [1 - 2 * (s & 1), 1 - (s & 2), 1 - (s & 4) / 2]))).OrderBy(e => e.Changes)];

    /// <summary>Axes that are exchanged or turned round.</summary>
    public int Changes => Enumerable.Range(0, 3).Count(i => From[i] != i || Sign[i] < 0);

    /// <summary>False: no rotation does it, one hand becomes the other.</summary>
    public bool IsRotation
    {
        get
        {
            int inversions = (From[0] > From[1] ? 1 : 0) + (From[0] > From[2] ? 1 : 0) + (From[1] > From[2] ? 1 : 0);
            return (inversions % 2 == 0 ? 1 : -1) * Sign[0] * Sign[1] * Sign[2] > 0;
        }
    }

    public Triple Apply(Triple v) => new(Sign[0] * v[From[0]], Sign[1] * v[From[1]], Sign[2] * v[From[2]]);

    /// <summary>The covariance of the renamed axes.</summary>
    public double Apply(double[,] covariance, int i, int j) => Sign[i] * Sign[j] * covariance[From[i], From[j]];

    /// <summary>"x and y exchanged", "z turned round", else "x = −y, y = z, z = x".</summary>
    public string Said
    {
        get
        {
            var changed = Enumerable.Range(0, 3).Where(i => From[i] != i || Sign[i] < 0).ToList();
            string Name(int axis) => "xyz"[axis].ToString();
            if (changed.All(i => From[i] == i)) { return string.Join(" and ", changed.Select(Name)) + " turned round"; }
            if (changed.Count == 2 && changed.All(i => Sign[i] > 0)) { return $"{Name(changed[0])} and {Name(changed[1])} exchanged"; }
            return string.Join(", ", changed.Select(i => $"{Name(i)} = {(Sign[i] < 0 ? "−" : "")}{Name(From[i])}"));
        }
    }
}
