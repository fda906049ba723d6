using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace HilRunner.Application.Batches;

/// <summary>
/// One of several parts of a batch, for as many machines. A scenario's part follows from its name alone, with all its repeats and variations: the same on every machine, and where it was when
/// others come or go.
/// </summary>
/// <param name="Number">1 to <paramref name="Of"/>.</param>
internal sealed record Shard(int Number, int Of)
{
    private const int Most = 1000;

    /// <param name="text">Such as 2/5.</param>
    /// <exception cref="UsageException">It is none.</exception>
    public static Shard Parse(string text)
    {
        string[] parts = text.Split('/');
        return parts.Length == 2 && int.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out int number) && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out int of)
            && number >= 1 && number <= of && of <= Most
            ? new(number, of)
            : throw new UsageException($"--shard {text}: expected a part and their number, such as 2/5");
    }

    public static bool IsOne(string text)
    {
        try { return Parse(text).Of > 0; }
        catch (UsageException) { return false; }
    }

    public Batch Take(Batch batch) => batch with { Items = [.. batch.Items.Where(Holds)] };

    public override string ToString() => FormattableString.Invariant($"{Number}/{Of}");

    private bool Holds(BatchItem item)
    {
        string name = $"{item.Suite}\n{item.Variation?.Of ?? item.Scenario.Name}";
        return BinaryPrimitives.ReadUInt64BigEndian(SHA256.HashData(Encoding.UTF8.GetBytes(name))) % (ulong)Of == (ulong)(Number - 1);
    }
}
