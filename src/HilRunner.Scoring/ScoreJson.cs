using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using HilRunner.Core;
using HilRunner.Core.Files;
using HilRunner.Scoring.Json;

namespace HilRunner.Scoring;

/// <summary>
/// score.json, schema 2. Schema 1 is read too, and stands for earlier definitions. Times are decimal seconds, exact to the
/// nanosecond; shares and statistics are the shortest decimals that give the same double again; what is absent, undefined or
/// infinite is null. Keys of classes are in ordinal order and lines end with LF: equal scores are equal bytes.
/// </summary>
public static class ScoreJson
{
    /// <summary>Of what is scored today: the number of the definitions.</summary>
    public const int Schema = 2;

    /// <summary>From this schema on a score says whether everything arrived.</summary>
    internal const int WithDelivery = 2;

    // The file is read by people and programs, never pasted into HTML: characters such as ≥ stay themselves.
    private static readonly JsonWriterOptions Options = new()
    {
        Indented = true,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    public static void Write(Score score, Stream stream)
    {
        using (var json = new Utf8JsonWriter(stream, Options)) { new ScoreWriter(json).Write(score); }
        stream.Write("\n"u8);
    }

    /// <summary>What <see cref="Write"/> writes, as text.</summary>
    public static string ToText(Score score)
    {
        using var memory = new MemoryStream();
        Write(score, memory);
        return Encoding.UTF8.GetString(memory.GetBuffer(), 0, (int)memory.Length);
    }

    /// <param name="file">The name that errors give.</param>
    /// <exception cref="BadInputException">The stream holds no score of a schema that is known.</exception>
    public static Score Read(Stream stream, string file = Core.Runs.RunFiles.Score)
    {
        ArgumentNullException.ThrowIfNull(stream);
        using var held = new MemoryStream();
        stream.CopyTo(held);
        return Read(held.GetBuffer().AsMemory(0, (int)held.Length), file);
    }

    /// <summary>Reads the score of a run's folder.</summary>
    /// <exception cref="BadInputException">There is none, or none of a schema that is known.</exception>
    public static Score Read(string path) => Read(PlainFile.ReadBytes(path, PlainFile.LongestText), path);

    private static Score Read(ReadOnlyMemory<byte> text, string file)
    {
        try
        {
            JsonWords.RefuseLong(text.Span);
            using var document = JsonDocument.Parse(text);
            return ScoreReader.Read(document.RootElement);
        }
        catch (JsonException e)
        {
            throw Bad(file, (int)(e.LineNumber + 1 ?? 0), (int)(e.BytePositionInLine + 1 ?? 0), $"no JSON ({e.Message})");
        }
        catch (Exception e) when (e is InvalidDataException or KeyNotFoundException or InvalidOperationException or FormatException
            or OverflowException)
        {
            // The runtime's own words name neither key nor line.
            throw Bad(file, 0, 0, e switch
            {
                InvalidDataException => e.Message,
                KeyNotFoundException => "a key is missing",
                OverflowException or FormatException => "a number is out of range",
                _ => "a value is of another kind, such as a text in place of a number",
            });
        }
    }

    private static BadInputException Bad(string file, int line, int column, string found) =>
        new([new(file, line, column, found, $"a score of schema 1 to {Schema}", "score the run again from its capture")]);
}
