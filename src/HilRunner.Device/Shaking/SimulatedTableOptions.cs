namespace HilRunner.Device.Shaking;

/// <summary>The simulated table and its faults; none by default. Times count from its first move.</summary>
public sealed record SimulatedTableOptions
{
    public double NaturalHz { get; init; } = 120;
    public double Damping { get; init; } = 0.5;
    /// <summary>In m, either side.</summary>
    public double Stroke { get; init; } = 0.012;
    /// <summary>What the drive's current can do.</summary>
    public double MostG { get; init; } = 4;
    /// <summary>It stops by itself when it has heard nothing for this long; null: it moves on.</summary>
    public TimeSpan? Watchdog { get; init; } = TimeSpan.FromMilliseconds(250);
    /// <summary>From the level it has to rest, when it stops.</summary>
    public TimeSpan StopRamp { get; init; } = TimeSpan.FromMilliseconds(100);
    /// <summary>Standard deviation of the acceleration that it reports, in g.</summary>
    public double NoiseG { get; init; } = 0.002;
    /// <summary>A guard is open from then on.</summary>
    public TimeSpan? InterlockAfter { get; init; }
    public TimeSpan? LimitAfter { get; init; }
    public TimeSpan? HotAfter { get; init; }
    /// <summary>The link is gone; the table keeps to its watchdog.</summary>
    public TimeSpan? LostAfter { get; init; }
    /// <summary>It hears and never answers again.</summary>
    public TimeSpan? SilentAfter { get; init; }
    /// <summary>Answers that no description fits.</summary>
    public TimeSpan? WrongAfter { get; init; }
    /// <summary>The table stands still, whatever it is told, and says that it moves.</summary>
    public TimeSpan? StuckAfter { get; init; }
    /// <summary>The amplifier's gain grows threefold.</summary>
    public TimeSpan? RunawayAfter { get; init; }
    public ulong Seed { get; init; } = 1;
}
