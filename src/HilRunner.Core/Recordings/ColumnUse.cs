using HilRunner.Core.Numerics;

namespace HilRunner.Core.Recordings;

/// <summary>What one column of a file holds: a channel in some unit, the time, or nothing of interest.</summary>
/// <param name="Channel">ax ay az gx gy gz; null: not a channel.</param>
/// <param name="Multiply">Value in g or °/s = number × Multiply ÷ Divide; the one that is not needed is 1, so that nothing is rounded twice.</param>
/// <param name="IsTime">Seconds.</param>
internal sealed record ColumnUse(string? Channel, double Multiply, double Divide, bool IsTime)
{
    public static readonly ColumnUse Skipped = new(null, 1, 1, false);
    public static readonly ColumnUse Time = new(null, 1, 1, true);

    /// <summary>All channels there are.</summary>
    public static IReadOnlyList<string> ChannelNames { get; } = ["ax", "ay", "az", "gx", "gy", "gz"];

    /// <summary>Names of the units of acceleration in a foreign format, and of turning rate.</summary>
    public static IReadOnlyList<string> AccelerationUnits { get; } = ["g", "mg", "m/s2"];
    public static IReadOnlyList<string> GyroUnits { get; } = ["dps", "rad/s"];

    public static bool IsAcceleration(string channel) => channel[0] == 'a';

    /// <param name="unit">One of <see cref="AccelerationUnits"/> or <see cref="GyroUnits"/>.</param>
    public static ColumnUse Of(string channel, string unit) => unit switch
    {
        "g" or "dps" => new(channel, 1, 1, false),
        "mg" => new(channel, 1, 1000, false),
        "m/s2" => new(channel, 1, Gravity.Standard, false),
        "rad/s" => new(channel, 180 / Math.PI, 1, false),
        _ => throw new ArgumentOutOfRangeException(nameof(unit), unit, "no such unit"),
    };

    public double ToUnit(double number) => number * Multiply / Divide;
}
