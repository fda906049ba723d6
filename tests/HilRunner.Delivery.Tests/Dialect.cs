using System.Text.Json.Nodes;

namespace HilRunner.Delivery.Tests;

/// <summary>A rig description (rigs/NAME.yaml) and the device that it describes.</summary>
/// <param name="Name">Of its rig file.</param>
/// <param name="Device">As witness/device.py is told.</param>
/// <param name="ToDevice">The description proves that all samples arrived, when they did.</param>
/// <param name="FromDevice">It proves that all decisions arrived.</param>
/// <param name="Watched">Something can be asked of it, or it says something all the time: it can be seen to fall silent.</param>
/// <param name="Asked">Questions are asked of it all the time, so that a silence can be shown to be its own.</param>
internal sealed record Dialect(string Name, string Device, bool ToDevice, bool FromDevice, bool Watched, bool Asked)
{
    public static IReadOnlyList<Dialect> All { get; } =
    [
        new("bare", """{"think_ms": 30}""", false, false, false, false),
        new("clocked", """{"stamps": true, "think_ms": 30}""", false, false, true, true),
        new("repeated", """{"told": "n", "n": "repeated"}""", false, false, true, true),
        new("counted", """{"n": "counted", "at_end": true}""", true, false, true, true),
        new("credit", """{"told": "n", "n": "counted", "credit": 16}""", true, false, true, false),
        new("counters", """{"told": "n", "n": "repeated", "counters": true, "bits": 16}""", true, true, true, true),
        new("seq", """{"n": "counted", "counters": true, "seq": 8}""", true, true, true, true),
        new("windows", """{"n": "counted", "windows": true}""", false, true, true, false),
        new("binary", """{"format": "cobs", "n": "counted", "stamps": true, "credit": 16, "counters": true}""",
            true, true, true, true),
        new("batch", """{"told": "batch", "n": "counted", "batch": 4, "window": 24, "credit": 16, "counters": true}""",
            true, true, true, true),
    ];

    /// <summary>Counts of both ways are described: then nothing that the link did may be taken for the device's.</summary>
    public bool Full => ToDevice && FromDevice;

    public JsonNode Json => JsonNode.Parse(Device)!;

    /// <summary>Samples in a message.</summary>
    public int Batch => (int?)Json["batch"] ?? 1;

    public override string ToString() => Name;
}
