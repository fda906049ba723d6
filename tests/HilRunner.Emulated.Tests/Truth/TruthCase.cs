using HilRunner.Emulated.Tests.Bench;

namespace HilRunner.Emulated.Tests.Truth;

/// <summary>One row of the truth table: what the device and the link are made to do.</summary>
internal sealed record TruthCase(string Name)
{
    /// <summary>Between consuming the deciding sample and deciding.</summary>
    public int ThinkMs { get; init; }
    /// <summary>Rate of the device's clock against the host's.</summary>
    public int SkewPpm { get; init; }
    /// <summary>What the device's clock shows at its start; 32 bits of µs wrap after 4294.97 s.</summary>
    public int OffsetS { get; init; }
    /// <summary>Least and most delay of the link on the way to the device and back.</summary>
    public (int Least, int Most) TowardMs { get; init; }
    public (int Least, int Most) BackMs { get; init; }
    /// <summary>Share of the clock answers that are lost.</summary>
    public double Lost { get; init; }
    /// <summary>True: the device is reset in mid-run, and set going again by the link.</summary>
    public bool Reset { get; init; }
    /// <summary>Done once, in mid-run.</summary>
    public Action<Emulator>? During { get; init; }
    /// <summary>Shortest trial, in samples; the longest is half as long again.</summary>
    public int Trial { get; init; } = 16;
    public int Seconds { get; init; } = 18;

    public ImageSpec Image => new()
    {
        Model = Images.Table("burst", TruthModel.Text),
        ThinkMs = ThinkMs,
        Further = $"--clock-ppm {SkewPpm} --clock-offset {OffsetS}",
    };
}
