using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;

namespace HilRunner.Delivery.Tests;

/// <summary>A sample that the device felt: when, on the machine's monotonic clock, and its number as told.</summary>
internal sealed record Felt(long AtNs, long Index, long? Told);

/// <summary>
/// A message with samples as the link passed it on: the number of its last sample, when it was due at the device, and how long
/// the link had waited for a processor before it read the message.
/// </summary>
/// <param name="AtNs">When the link had read it.</param>
internal sealed record Passed(long Index, long AtNs, long DueNs, long WaitedNs);

/// <summary>A decision that the device made: when, and after how many samples felt.</summary>
internal sealed record Decided(long AtNs, long Index, string Class);

/// <summary>What the link did to one message, or had done to the device.</summary>
/// <param name="OfDecision">The message was a decision.</param>
internal sealed record LinkFault(long AtNs, string Kind, string Direction, bool OfDecision);

/// <summary>What happened in one run, by the logs of link and device alone.</summary>
internal sealed record Truth
{
    /// <summary>Samples that the host handed to the link, and that the device felt.</summary>
    public required int Sent { get; init; }
    public required IReadOnlyList<Felt> Felt { get; init; }
    public required IReadOnlyList<Passed> Passed { get; init; }
    /// <summary>The device felt the very counts that were sent.</summary>
    public required bool SameCounts { get; init; }
    /// <summary>Decisions that the device handed to the link.</summary>
    public required int Said { get; init; }
    public required IReadOnlyList<Decided> Decided { get; init; }
    public required IReadOnlyList<LinkFault> Faults { get; init; }
    /// <summary>Nothing was done in this call up to the end of this run.</summary>
    public required bool Clean { get; init; }

    /// <summary>The device stopped hearing in this run.</summary>
    public bool Died => Faults.Any(f => f.Kind is "die" or "die-for-good" or "deaf");

    /// <summary>A decision came otherwise than it was said, or did not.</summary>
    public bool DecisionsHit => Faults.Any(f => f.OfDecision && f.Kind is not ("delay_lines" or "stall"));

    /// <summary>
    /// After the last sample of the run before and before this one began, something was done to what went over the link: what
    /// the host asked in between is hit by the fault of the run before.
    /// </summary>
    public required bool HitBefore { get; init; }

    /// <summary>
    /// The longest time between two samples on their way through the link, s: where nothing was done to them, and they were
    /// played in real time, more than their period is this machine's doing.
    /// </summary>
    public double LongestGapS => Passed.Zip(Passed.Skip(1), (a, b) => (b.AtNs - a.AtNs) / 1e9).DefaultIfEmpty().Max();

    /// <summary>Something was done to what went over the link.</summary>
    public bool LinkTouched => Faults.Any(f => f.Direction is "to" or "from");

    /// <summary>
    /// By how much this machine held up the way of a sample, s: what the link waited for a processor before it read it, and from
    /// when it was due at the device until it was felt there. Of runs in which every sample came once.
    /// </summary>
    /// <param name="withPlan">What the plan had done to it, too: delays of single samples, which are part of their way.</param>
    public double HeldUpS(int sample, bool withPlan)
    {
        var passed = Passed.First(p => p.Index >= sample);
        return (passed.WaitedNs + Math.Max(0, Felt[sample].AtNs - (withPlan ? passed.AtNs : passed.DueNs))) / 1e9;
    }

    /// <summary>
    /// By the number of samples of each run. A run goes from its begin, as the link saw it, to the next; the clock of both logs
    /// is one.
    /// </summary>
    public static IReadOnlyDictionary<int, Truth> Read(string folder)
    {
        var link = Lines(Path.Combine(folder, "link.jsonl"));
        var device = Lines(Path.Combine(folder, "device.jsonl"));
        var begins = link.Where(e => What(e) == "begin").ToArray();
        var truths = new Dictionary<int, Truth>();
        for (int i = 0; i < begins.Length; i++)
        {
            long from = At(begins[i]), to = i + 1 < begins.Length ? At(begins[i + 1]) : long.MaxValue;
            int run = begins[i].GetProperty("run").GetInt32();
            long asked = i == 0 ? 0 : link.Where(e => What(e) == "passed" && At(e) >= At(begins[i - 1]) && At(e) < from)
                .Select(At).DefaultIfEmpty(At(begins[i - 1])).Max();
            var mine = device.Where(e => At(e) >= from && At(e) < to).ToArray();
            var felt = mine.Where(e => What(e) == "felt").ToArray();
            var sent = link.Single(e => What(e) == "sent" && At(e) >= from && e.GetProperty("run").GetInt32() == run);
            truths.Add(run, new Truth
            {
                Sent = sent.GetProperty("count").GetInt32(),
                Felt = [.. felt.Select(e => new Felt(At(e), e.GetProperty("i").GetInt64(), Number(e.GetProperty("n"))))],
                Passed = [.. link.Where(e => What(e) == "passed" && At(e) >= from && At(e) < to).Select(e =>
                    new Passed(e.GetProperty("i").GetInt64(), At(e), e.GetProperty("due").GetInt64(), e.GetProperty("waited")
                        .GetInt64()))],
                SameCounts = Digest(felt) == sent.GetProperty("sha").GetString(),
                Said = mine.Count(e => What(e) == "said" && e.GetProperty("kind").GetString() == "c"),
                Decided = [.. mine.Where(e => What(e) == "decided").Select(e =>
                    new Decided(At(e), e.GetProperty("i").GetInt64(), e.GetProperty("class").GetString()!))],
                Faults = [.. link.Where(e => What(e) == "fault" && (i == 0 || At(e) >= from) && At(e) < to).Select(e =>
                    new LinkFault(At(e), e.GetProperty("kind").GetString()!, e.GetProperty("dir").GetString()!,
                        e.GetProperty("decision").GetBoolean()))],
                HitBefore = link.Any(e => What(e) == "fault" && At(e) >= asked && At(e) < from
                    && e.GetProperty("dir").GetString() != "device"),
                Clean = !link.Any(e => What(e) == "fault" && At(e) < to),
            });
        }
        return truths;
    }

    private static JsonElement[] Lines(string path) =>
        [.. File.ReadLines(path).Select(line => JsonDocument.Parse(line).RootElement)];

    private static string What(JsonElement entry) => entry.GetProperty("what").GetString()!;

    private static long At(JsonElement entry) => entry.GetProperty("at").GetInt64();

    private static long? Number(JsonElement value) => value.ValueKind == JsonValueKind.Null ? null : value.GetInt64();

    private static string Digest(IEnumerable<JsonElement> felt)
    {
        var text = new StringBuilder();
        foreach (var sample in felt)
        {
            text.Append(CultureInfo.InvariantCulture,
                $"{string.Join(',', sample.GetProperty("counts").EnumerateArray().Select(v => v.GetInt32()))};");
        }
        return Convert.ToHexStringLower(SHA1.HashData(Encoding.ASCII.GetBytes(text.ToString())));
    }
}
