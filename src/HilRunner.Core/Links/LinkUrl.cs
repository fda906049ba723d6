using HilRunner.Core.Documents;

namespace HilRunner.Core.Links;

/// <summary>
/// A link in one word, for the command line: <c>serial:/dev/ttyUSB0?baud=115200&amp;parity=even</c>,
/// <c>serial:usb:1209:0001:A7F3</c>, <c>pty:/tmp/tag</c>, <c>tcp://localhost:5000</c>, <c>process:./device --fast</c>,
/// <c>builtin:lines?model=model.yaml&amp;delay=20ms</c>. Keys after the question mark are those of the rig file.
/// </summary>
public static class LinkUrl
{
    private const string Where = "--link";
    private const string Forms = "serial:PORT?baud=…, pty:PATH, tcp://HOST:PORT, process:PROGRAM ARGUMENTS, or builtin:lines?model=…";

    /// <param name="url">Paths in it are relative to the working directory.</param>
    /// <param name="fromRig">The rig's own link: its serial settings hold where the URL gives none.</param>
    /// <exception cref="BadInputException">No link; says what was expected.</exception>
    public static LinkSpec Parse(string url, LinkSpec? fromRig = null)
    {
        var faults = new DocumentFaults(Where);
        var reading = new Reading(faults, "", Stored: false);
        int colon = url.IndexOf(':', StringComparison.Ordinal);
        string scheme = colon < 0 ? "" : url[..colon], rest = url[(colon + 1)..];
        LinkSpec? link = scheme switch
        {
            "serial" => Serial(rest, fromRig as SerialLinkSpec, reading),
            "pty" => Read(LinkShape.Pty, Scalar("pty", rest), reading),
            "tcp" => Read(LinkShape.Tcp, Scalar("tcp", rest.StartsWith("//", StringComparison.Ordinal) ? rest[2..] : rest), reading),
            "process" => Process(rest, reading),
            "builtin" => Read(LinkShape.Builtin, Query("builtin", "protocol", rest, reading), reading),
            _ => Unknown(url, scheme, faults),
        };
        faults.ThrowIfAny();
        return link!;
    }

    private static LinkSpec? Unknown(string url, string scheme, DocumentFaults faults)
    {
        string? near = EditDistance.Nearest(scheme, ["serial", "pty", "tcp", "process", "builtin"]);
        string remedy = near is not null ? $"did you mean {near}:?" : url.StartsWith("/dev/", StringComparison.Ordinal) ? $"did you mean serial:{url}?" : "";
        faults.Add(0, 0, $"\"{url}\"", Forms, remedy);
        return null;
    }

    private static SerialLinkSpec? Serial(string rest, SerialLinkSpec? rig, Reading reading)
    {
        var map = Query("serial", "port", rest, reading);
        bool Given(string key) => map[key] is not null;
        if (rig is not null && !Given("baud"))
        {
            var baud = new Entry(Scalar("serial.baud", "baud"), Scalar("serial.baud", rig.Baud.ToString(System.Globalization.CultureInfo.InvariantCulture)));
            var read = Read(LinkShape.Serial, map with { Entries = [.. map.Entries, baud] }, reading);
            return read is null ? null : Keep(read, rig, Given);
        }
        var link = Read(LinkShape.Serial, map, reading);
        return link is not null && rig is not null ? Keep(link, rig, Given) : link;
    }

    private static SerialLinkSpec Keep(SerialLinkSpec link, SerialLinkSpec rig, Func<string, bool> given) => link with
    {
        DataBits = given("data_bits") ? link.DataBits : rig.DataBits,
        Parity = given("parity") ? link.Parity : rig.Parity,
        StopBits = given("stop_bits") ? link.StopBits : rig.StopBits,
        Handshake = given("handshake") ? link.Handshake : rig.Handshake,
        HangUpOnClose = given("hang_up_on_close") ? link.HangUpOnClose : rig.HangUpOnClose,
        Dtr = rig.Dtr,
        Rts = rig.Rts,
    };

    private static ProcessLinkSpec? Process(string rest, Reading reading)
    {
        if (Words.Split(rest) is not { } words)
        {
            reading.Faults.Add(0, 0, $"an open quote in {rest}", "a closing quote");
            return null;
        }
        return Read(LinkShape.Process, new ListNode("process", 0, 0, [.. words.Select((w, i) => new ScalarNode($"process[{i}]", 0, 0, w, Plain: false))]), reading);
    }

    /// <summary>FIRST?key=value&amp;key=value as the map that a rig file would hold.</summary>
    private static MapNode Query(string path, string firstKey, string text, Reading reading)
    {
        int mark = text.IndexOf('?', StringComparison.Ordinal);
        string first = mark < 0 ? text : text[..mark];
        var entries = new List<Entry>();
        if (first.Length > 0) { entries.Add(new(Scalar(path, firstKey), Scalar($"{path}.{firstKey}", first))); }
        foreach (string pair in mark < 0 ? [] : text[(mark + 1)..].Split('&', StringSplitOptions.RemoveEmptyEntries))
        {
            int equals = pair.IndexOf('=', StringComparison.Ordinal);
            if (equals <= 0)
            {
                reading.Faults.Add(0, 0, $"\"{pair}\" in {path}", "key=value");
                continue;
            }
            string key = pair[..equals];
            if (entries.Any(e => e.Key.Text == key))
            {
                reading.Faults.Add(0, 0, $"{key} a second time in {path}", "each key once");
                continue;
            }
            entries.Add(new(Scalar(path, key), Scalar($"{path}.{key}", Uri.UnescapeDataString(pair[(equals + 1)..]))));
        }
        return new(path, 0, 0, entries);
    }

    private static ScalarNode Scalar(string path, string text) => new(path, 0, 0, text, Plain: true);

    private static T? Read<T>(Shape<T> shape, Node node, Reading reading) where T : class => shape.TryRead(node, reading, out T? value) ? value : null;
}
