using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;

namespace HilRunner.Delivery.Tests;

/// <summary>One run with what is done to its link or its device.</summary>
/// <param name="Samples">
/// How many are played; within one call of hil no two runs have equally many, so that the link knows them by it.
/// </param>
/// <param name="Kind">As in witness/link.py, or boot: the device boots because its port is opened.</param>
/// <param name="Direction">to, from, both; device: nothing is done to the link.</param>
/// <param name="Share">Of lines or bytes that are hit.</param>
/// <param name="Speed">As hil is told: real, or max where the device gives credit.</param>
internal sealed record FaultCase(
    Dialect Dialect, int Samples, string Kind, string Direction, double Share, int Seed, string Speed)
{
    /// <summary>Where it dies, or is cut off; the motion goes on for 1.3 s then, and changes.</summary>
    private const int AtSample = 270;

    private static readonly string[] s_shared = ["drop_lines", "garble_bytes", "drop_bytes", "duplicate_lines", "delay_lines"];
    private static readonly double[] s_shares = [0.001, 0.003, 0.01, 0.03, 0.1, 0.3];

    public string Name => $"case-{Samples}";

    /// <summary>The runs of one call: a clean one (or a boot by opening), three faults, and one that ends it.</summary>
    public static IReadOnlyList<FaultCase> Call(Dialect dialect, int seed)
    {
        var random = new Random(seed);
        var cases = new List<FaultCase>();
        string speed = dialect.Json["credit"] is not null && random.Next(2) == 0 ? "max" : "real";
        Add(random.Next(4) == 0 ? ("boot", "device", 1) : ("none", "device", 0));
        for (int i = 0; i < 3; i++) { Add(Passing(random)); }
        Add(random.Next(6) switch
        {
            0 or 1 => ("die-for-good", "device", 1),
            2 => ("deaf", "device", 1),
            3 => ("cut", "to", 1),
            4 => ("cut", "from", 1),
            _ => ("cut", "both", 1),
        });
        return cases;

        void Add((string Kind, string Direction, double Share) fault) =>
            cases.Add(new(dialect, 400 + cases.Count, fault.Kind, fault.Direction, fault.Share, random.Next(1_000_000), speed));
    }

    private static (string, string, double) Passing(Random random)
    {
        string direction = random.Next(3) switch { 0 => "to", 1 => "from", _ => "both" };
        double share = s_shares[random.Next(s_shares.Length)];
        return random.Next(10) switch
        {
            < 6 and var i => (s_shared[Math.Min(i, s_shared.Length - 1)], direction, share),
            6 or 7 => ("stall", direction, 1),
            8 => ("lost_decisions", "from", Math.Max(share, 0.1)),
            _ => ("die", "device", 1),
        };
    }

    /// <summary>The fault as witness/link.py is told; null where it has nothing to do.</summary>
    public JsonNode? Plan() => Kind is "none" or "boot" ? null : new JsonObject
    {
        ["kind"] = Kind,
        ["direction"] = Direction,
        ["share"] = Share,
        ["seed"] = Seed,
        ["at_sample"] = AtSample,
        ["phase_ms"] = Speed == "max" ? Seed % 20 : 200 + (Seed % 3200),
    };

    /// <summary>Five stretches, at least 0.68 s each, no two neighbours of one class.</summary>
    public string Scenario()
    {
        var random = new Random(Seed);
        var text = new StringBuilder($"scenario: {Name}\nstimulus:\n");
        int left = Samples, last = 2;
        for (int i = 0; i < 5; i++)
        {
            int length = i < 4 ? random.Next(68, 83) : left;
            left -= length;
            last = i == 0 ? 0 : (last + random.Next(1, 3)) % 3;
            string time = string.Create(CultureInfo.InvariantCulture, $"{length / 100.0:0.00} s");
            text.Append(CultureInfo.InvariantCulture, $"  - synth: {last switch
            {
                0 => $"{{rest: {time}, class: resting}}",
                1 => $"{{tone: 12 Hz, peak: 0.2 g, axis: z, for: {time}, class: moving}}",
                _ => $"{{tone: 12 Hz, peak: 0.6 g, axis: z, for: {time}, class: fast}}",
            }}\n");
        }
        return text + """
            grace: 600 ms
            within: 600 ms
            limits:
              - {measure: missed, at_most: 0}
              - {measure: accuracy, at_least: 0.9}
              - {measure: reaction, statistic: max, at_most: 600 ms}

            """;
    }

    public override string ToString() =>
        string.Create(CultureInfo.InvariantCulture,
            $"{Dialect} {Kind} {Direction}{(Share is > 0 and < 1 ? $" {Share:0.0 %}" : "")} ({Name}, speed {Speed}, seed {Seed})");
}
