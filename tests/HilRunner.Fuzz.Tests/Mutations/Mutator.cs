using HilRunner.Fuzz.Tests.Readers;

namespace HilRunner.Fuzz.Tests.Mutations;

/// <summary>Damages good inputs. The same seed and the same good inputs make the same case.</summary>
internal static class Mutator
{
    private const int MostSteps = 4;

    /// <summary>Longest case, in bytes: what is above it is cut.</summary>
    public const int Longest = 24 << 20;

    /// <summary>A case of this length is long enough: another step on it takes more memory than what reads it may.</summary>
    private const int LongEnough = 4 << 20;

    /// <param name="seeds">Good inputs, at least one.</param>
    public static byte[] Case(IReadOnlyList<byte[]> seeds, Form form, int seed)
    {
        var random = new Random(seed);
        byte[] bytes = seeds[random.Next(seeds.Count)], other = seeds[random.Next(seeds.Count)];
        for (int steps = random.Next(1, MostSteps + 1); steps > 0
            && bytes.Length < LongEnough; steps--) { bytes = Step(bytes, other, form, random); }
        return bytes.Length > Longest ? bytes[..Longest] : bytes;
    }

    private static byte[] Step(byte[] bytes, byte[] other, Form form, Random random) => (form, random.Next(3)) switch
    {
        // A third of the steps know nothing of the form, another third no more than that it is text.
        (_, 0) => ByteMutations.Step(bytes, other, random),
        (Form.PcapNg, _) => PcapNgMutations.Step(bytes, random),
        (Form.Parquet, _) => ParquetMutations.Step(bytes, random),
        (Form.Sqlite, _) => SqliteMutations.Step(bytes, random),
        (Form.Bytes, _) => ByteMutations.Step(bytes, other, random),
        (_, 1) => TextMutations.Step(bytes, other, random),
        (Form.Yaml, _) => YamlMutations.Step(bytes, other, random),
        (Form.Json, _) => JsonMutations.Step(bytes, random),
        (Form.JsonLines, _) => JsonMutations.LineStep(bytes, random),
        (Form.Table, _) => TableMutations.Step(bytes, random),
        _ => throw new ArgumentOutOfRangeException(nameof(form), form, "has no mutations"),
    };
}
