using System.Globalization;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Links;

/// <summary>Which link to open: one map for the rig file and for the URL of --link.</summary>
internal static class LinkShape
{
    public static Shape<SerialLinkSpec> Serial { get; } = MapShape.Of<SerialLinkSpec>("Serial link", "a map with port and baud", keys =>
    {
        var port = keys.Required("port", Shapes.Text("a port", "/dev/ttyUSB0", "usb:1209:0001:A7F3").Select(Port),
            "A path, or usb:VID:PID[:SERIAL][:INTERFACE] with hexadecimal ids, so that the board is found wherever it is plugged in.");
        var baud = keys.Required("baud", Shapes.Integer(50, 20_000_000), "Bits per second.");
        var dataBits = keys.Default("data_bits", Shapes.Integer(5, 8), "8", "Data bits, 5 to 8.");
        var parity = keys.Default("parity", new WordShape<SerialParity>(("none", SerialParity.None), ("odd", SerialParity.Odd),
            ("even", SerialParity.Even), ("mark", SerialParity.Mark), ("space", SerialParity.Space)), "none", "Parity.");
        var stopBits = keys.Default("stop_bits", new WordShape<double>(("1", 1), ("1.5", 1.5), ("2", 2)), "1", "Stop bits.");
        var handshake = keys.Default("handshake", new WordShape<SerialHandshake>(("none", SerialHandshake.None), ("rts_cts", SerialHandshake.RtsCts),
            ("xon_xoff", SerialHandshake.XonXoff)), "none", "Flow control.");
        var hangUp = keys.Optional("hang_up_on_close", Shapes.Flag,
            "false: closing the port leaves DTR alone, so that a board is not reset by it. Absent: as the port is set.");
        return (entries, _) => new SerialLinkSpec(entries.Get(port), entries.Get(baud))
        {
            DataBits = entries.Get(dataBits),
            Parity = entries.Get(parity),
            StopBits = entries.Get(stopBits),
            Handshake = entries.Get(handshake),
            HangUpOnClose = entries.MaybeValue(hangUp),
        };
    });

    public static Shape<PtyLinkSpec> Pty { get; } = Shapes.Path("the path of a pseudo-terminal", "/tmp/tag").Select(path => new PtyLinkSpec(path));

    public static Shape<TcpLinkSpec> Tcp { get; } = Shapes.Text("host:port, such as localhost:5000", "localhost:5000").Select((text, node, reading) =>
    {
        int colon = text.LastIndexOf(':');
        string host = colon > 0 ? text[..colon].Trim('[', ']') : "";
        if (host.Length > 0 && int.TryParse(text.AsSpan(colon + 1), NumberStyles.None, CultureInfo.InvariantCulture, out int port) && port is > 0 and <= 65_535)
        {
            return new TcpLinkSpec(host, port);
        }
        reading.Refuse(node, node.Shown, "host:port, such as localhost:5000, with a port from 1 to 65535");
        return new TcpLinkSpec(text, 0);
    });

    public static Shape<ProcessLinkSpec> Process { get; } = new EitherShape<ProcessLinkSpec>("a program and its arguments",
        list: ProgramShapes.Words.Select(words => new ProcessLinkSpec(words[0], [.. words.Skip(1)])),
        map: MapShape.Of<ProcessLinkSpec>(null, "a map with program and args", keys =>
        {
            var program = keys.Required("program", ProgramShapes.Program, "The program; with a slash: relative to this file, without: looked up in PATH.");
            var args = keys.Default("args", ProgramShapes.Arguments, "[]", "Its arguments; no shell.");
            return (entries, _) => new ProcessLinkSpec(entries.Get(program), entries.Get(args));
        }));

    public static Shape<BuiltinLinkSpec> Builtin { get; } = BuiltinLinkShape.Shape;

    public static Shape<LinkSpec> Shape { get; } = new OneKeyShape<LinkSpec>("a link",
        Case.Of("serial", Serial.Select(LinkSpec (s) => s), "A serial or USB port."),
        Case.Of("pty", Pty.Select(LinkSpec (s) => s), "An existing pseudo-terminal."),
        Case.Of("tcp", Tcp.Select(LinkSpec (s) => s), "A device or port server on the network, host:port."),
        Case.Of("process", Process.Select(LinkSpec (s) => s), "A program whose stdin and stdout are the device: a list of words, or a map. No shell."),
        Case.Of("builtin", Builtin.Select(LinkSpec (s) => s), "The virtual device."));

    private static string Port(string text, Node node, Reading reading)
    {
        if (text.StartsWith("usb:", StringComparison.Ordinal))
        {
            string[] parts = text.Split(':');
            if (parts.Length is < 3 or > 5 || !IsUsbId(parts[1]) || !IsUsbId(parts[2]) || parts.Skip(3).Any(p => p.Length == 0))
            {
                reading.Refuse(node, node.Shown, "usb:VID:PID[:SERIAL][:INTERFACE] with hexadecimal ids of four digits, such as usb:1209:0001:A7F3");
            }
            return text;
        }
        return text.Contains('/', StringComparison.Ordinal) ? reading.Resolve(text) : text;
    }

    private static bool IsUsbId(string text) => text.Length == 4 && text.All(char.IsAsciiHexDigit);
}
