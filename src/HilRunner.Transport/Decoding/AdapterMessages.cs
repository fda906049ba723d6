using System.Text.Json;
using HilRunner.Core;

namespace HilRunner.Transport.Decoding;

/// <summary>
/// messages.jsonl, what an adapter made of a capture, so that it need not be started to score the run again. First
/// <c>{"schema":1,"capture_sha256":…,"program":[…]}</c>; then for each read from the device, by its number, the adapter's own
/// lines, <c>{"read":17,"message":{…}}</c>, closed by <c>{"read":17,"done":{…}}</c>, or <c>{"read":17,"failed":"why"}</c>; reads
/// of which it made nothing are left out; last <c>{"reads":1200}</c>, how many there were.
/// </summary>
internal static class AdapterMessages
{
    public const int Schema = 1;
    public const string SchemaKey = "schema", CaptureKey = "capture_sha256", ProgramKey = "program",
        ReadKey = "read", MessageKey = "message", DoneKey = "done", FailedKey = "failed", ReadsKey = "reads";

    /// <summary>Longest line in bytes: a line of an adapter, and what is put around it.</summary>
    public const int LongestLine = 2 * 1024 * 1024;

    public static BadInputException Damage(string path, int line, string found, string expected) =>
        new([new(path, line, 0, found, expected, "hil score RUN --run-adapter starts the adapter and makes the file anew")]);

    public static void Write(Stream stream, Action<Utf8JsonWriter> write)
    {
        stream.Write(AdapterFormat.Line(write));
        stream.WriteByte((byte)'\n');
    }
}
