namespace HilRunner.Inspection.Rest;

/// <summary>Which way was up, by gravity: an accelerometer at rest reads +1 g on the axis that points up.</summary>
internal static class UpAxes
{
    public const string Tilted = "tilted";

    /// <summary>"+x" … "-z", or <see cref="Tilted"/> where no axis carries enough of it.</summary>
    public static string Of(Triple mean, double leastShare)
    {
        double length = mean.Length;
        for (int axis = 0; axis < 3; axis++)
        {
            if (length > 0 && Math.Abs(mean[axis]) >= leastShare * length) { return (mean[axis] < 0 ? "-" : "+") + "xyz"[axis]; }
        }
        return Tilted;
    }
}
