using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.Json.Serialization;
using HilRunner.Core.Files;

namespace HilRunner.Core.Shakers;

/// <summary>A trial as the host's model sees it, injected and on the table.</summary>
/// <param name="Injected">The class that it says for most of the trial; null: none.</param>
public sealed record TableTrial(int Trial, string Expected, string? Injected, string? OnTable);

/// <param name="RmsG">Of what is recorded along an axis that the table does not move along, without its mean.</param>
public sealed record LostAxis(string Channel, double RmsG);

/// <summary>What table.json of a run holds: what was made of its motion, known before the table moved, and what stopped it.</summary>
/// <param name="Fit">What was asked for: none, scale or filter.</param>
/// <param name="BeginsS">Time 0 of the motion on the run's axis.</param>
/// <param name="LateS">By how much later than that it was, at most, by the host's clock; null: it did not begin.</param>
/// <param name="RateHz">Positions a second.</param>
/// <param name="Gain">What the first motion, at a low level, measured of what was told.</param>
/// <param name="Equalised">Whether the table was told the inverse of what it makes.</param>
/// <param name="Model">The host's model; null: none was known.</param>
/// <param name="Fault">Why the table was stopped; null: it was not.</param>
public sealed record TableRecord(
    string Axis, string Fit, double FromHz, double ToHz, double Scale, double BeginsS, double RateHz, double? LateS, double? Gain, bool Equalised, MotionLoss Loss, IReadOnlyList<LostAxis> Others, string? Model, IReadOnlyList<TableTrial> Trials, string? Fault)
{
    /// <summary>As sample rates are.</summary>
    private const double LowestHz = 0.001, HighestHz = 10_000_000;

    private static readonly JsonSerializerOptions s_json = new() { PropertyNamingPolicy = JsonNamingPolicy.SnakeCaseLower, WriteIndented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static readonly JsonSerializerOptions s_strict =
        new(s_json) { RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true };

    /// <summary>Trials that the model sees as another class on the table than injected.</summary>
    [JsonIgnore]
    public IEnumerable<TableTrial> Otherwise => Trials.Where(t => t.Injected != t.OnTable);

    public void Write(string path) => AtomicFile.Write(path, stream => JsonSerializer.Serialize(stream, this, s_json));

    /// <exception cref="BadInputException">It is damaged.</exception>
    /// <exception cref="IOException">It cannot be read.</exception>
    public static TableRecord Read(string path)
    {
        var read = StoredJson.Read<TableRecord>(path, s_strict, "the file as hil run wrote it");
        // Octaves are counted up from the lowest frequency: from 0 there is no end of them.
        foreach (var (name, value) in ((string, double)[])[("from_hz", read.FromHz),
            ("to_hz", read.ToHz), ("rate_hz", read.RateHz)])
        {
            if (value is >= LowestHz and <= HighestHz) { continue; }
            throw new BadInputException(
                [new(path, 0, 0, FormattableString.Invariant($"{name} {value}"),
                    FormattableString.Invariant($"{LowestHz} Hz to {HighestHz} Hz, as hil run wrote it"))]);
        }
        return read;
    }
}

/// <summary>What a table was told and what it measured, position by position, as a file of a run.</summary>
public static class TableMotionFile
{
    private const string Header = "t_s,told_g,measured_g";

    /// <param name="measured">May be shorter: it ended early.</param>
    public static void Write(string path, double beginsS, double rateHz, ReadOnlySpan<double> told, ReadOnlySpan<double> measured)
    {
        using var file = new NewFile(path);
        using (var writer = new StreamWriter(file.Stream, new UTF8Encoding(false), 1 << 16, leaveOpen: true) { NewLine = "\n" })
        {
            writer.WriteLine(Header);
            for (int k = 0; k < measured.Length && k < told.Length; k++)
            {
                writer.WriteLine(
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{beginsS + k / rateHz:0.######},{told[k]:0.#####},{measured[k]:0.#####}"));
            }
        }
        file.Complete();
    }

    /// <exception cref="BadInputException">A line is not what it must be.</exception>
    public static (double BeginsS, double[] Told, double[] Measured) Read(string path)
    {
        var (told, measured) = (new List<double>(), new List<double>());
        double begins = 0;
        int number = 0;
        var cells = new Range[4];
        using var reader = new LimitedLines(new StreamReader(PlainFile.OpenRead(path), Encoding.UTF8));
        while (Next() is { } line)
        {
            if (++number == 1 && line == Header) { continue; }
            var text = line.AsSpan();
            // One more than there are: of a line with a million commas the rest is a cell that is no number.
            int count = text.Split(cells, ',');
            if (number == 1 || count != cells.Length - 1 || !Number(text[cells[0]], out double t)
                || !Number(text[cells[1]], out double toldG) || !Number(text[cells[2]], out double measuredG))
            {
                throw new BadInputException([new(path, number, 0, FoundText.Show(line), Header)]);
            }
            if (number == 2) { begins = t; }
            told.Add(toldG);
            measured.Add(measuredG);
        }
        return (begins, [.. told], [.. measured]);

        string? Next()
        {
            try { return reader.ReadLine(); }
            catch (InvalidDataException damaged) { throw new BadInputException([new(path, number + 1, 0, damaged.Message,
                Header)]); }
        }
    }

    private static bool Number(ReadOnlySpan<char> text, out double value) =>
        double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out value);
}
