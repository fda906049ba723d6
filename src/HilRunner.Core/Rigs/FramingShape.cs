using System.Globalization;
using HilRunner.Core.Documents;

namespace HilRunner.Core.Rigs;

/// <summary>How bytes become frames.</summary>
internal static class FramingShape
{
    private const string LengthDoc = "Longest frame in bytes, 16 to 65536; a longer one is counted bad and dropped.";

    public static Shape<FramingSpec> Shape { get; } = new EitherShape<FramingSpec>(
        "a framing: lines, cobs, slip, hdlc, or a map such as {cobs: {crc: CRC-16/IBM-3740}}",
        scalar: new WordShape<FramingSpec>(
            ("lines", new(FramingKind.Lines)), ("cobs", new(FramingKind.Cobs)), ("slip", new(FramingKind.Slip)), ("hdlc", new(FramingKind.Hdlc))),
        map: new OneKeyShape<FramingSpec>("a framing",
            Case.Of("lines", Lines(), "Text lines."),
            Case.Of("cobs", Stuffed(FramingKind.Cobs, false), "Consistent overhead byte stuffing (Cheshire and Baker 1999), frames end in 00."),
            Case.Of("slip", Stuffed(FramingKind.Slip, false), "RFC 1055, frames end in C0."),
            Case.Of("hdlc", Stuffed(FramingKind.Hdlc, true), "Byte-stuffed frames between 7E flags, as in RFC 1662."),
            Case.Of("length", Length(), "A sync word, a length field, the payload, a check sum."),
            Case.Of("adapter", Adapter(), "A program on stdin and stdout that understands the device.")));

    private static Shape<int> MaxLength => Shapes.Integer(16, 65_536);

    private static WordShape<string> Crc => new([.. KnownCrcs.Names.Select(n => (n, n))]) { Called = "a check sum by its name, listed under \"A device that speaks binary\"" };

    private static WordShape<ByteOrder> Order => new(("little", ByteOrder.Little), ("big", ByteOrder.Big));

    private static MapShape<FramingSpec> Lines() => MapShape.Of<FramingSpec>(null, "a map of line settings", keys =>
    {
        var end = keys.Default("end", new WordShape<string>(("\n", "\n"), ("\r\n", "\r\n")), "\"\\n\"", "What ends a sent line, \"\\n\" or \"\\r\\n\"; received lines may end in either.");
        var max = keys.Default("max_length", MaxLength, "4096", LengthDoc);
        return (entries, _) => new FramingSpec(FramingKind.Lines) { LineEnd = entries.Get(end), MaxLength = entries.Get(max) };
    });

    private static MapShape<FramingSpec> Stuffed(FramingKind kind, bool alwaysChecked) => MapShape.Of<FramingSpec>(null, "a map of frame settings", keys =>
    {
        var crc = keys.Optional("crc", Crc, "Check sum after the payload. " + (alwaysChecked ? "Absent: CRC-16/IBM-SDLC." : "Absent: none."));
        var order = keys.Default("crc_order", Order, "little", "Byte order of the check sum.");
        var type = keys.Optional("type", LayoutShapes.UnsignedType, "Type field at the start of the payload; absent: frames have no type.");
        var max = keys.Default("max_length", MaxLength, "4096", LengthDoc);
        return (entries, _) => new FramingSpec(kind)
        {
            Crc = entries.Maybe(crc),
            CrcOrder = entries.Get(order),
            TypeField = entries.MaybeValue(type),
            MaxLength = entries.Get(max),
        };
    });

    private static MapShape<FramingSpec> Length() => MapShape.Of<FramingSpec>(null, "a map with sync and length", keys =>
    {
        var sync = keys.Required("sync", Bytes(), "The bytes that start a frame, in hexadecimal.");
        var length = keys.Required("length", LayoutShapes.UnsignedType, "Type of the length field, which follows the sync word.");
        var add = keys.Default("length_add", Shapes.Integer(-64, 64), "0", "Added to the length field to get the number of bytes between it and the check sum.");
        var type = keys.Optional("type", LayoutShapes.UnsignedType, "Type field after the length field; absent: frames have no type.");
        var crc = keys.Optional("crc", Crc, "Check sum at the end. Absent: none.");
        var order = keys.Default("crc_order", Order, "little", "Byte order of the check sum.");
        var covers = keys.Default("crc_covers", new WordShape<bool>(("payload", false), ("all", true)), "payload", "What the check sum covers: what follows the length field, or sync and length too.");
        var max = keys.Default("max_length", MaxLength, "4096", LengthDoc);
        keys.Check((entries, reading) =>
        {
            if (entries.Has(covers) && !entries.Has(crc)) { reading.Faults.Add(entries.NodeOf(covers), $"crc_covers without crc in {entries.Node.Path}", "a crc, or no crc_covers"); }
        });
        return (entries, _) => new FramingSpec(FramingKind.Length)
        {
            Sync = entries.Get(sync),
            LengthField = entries.Get(length),
            LengthAdd = entries.Get(add),
            TypeField = entries.MaybeValue(type),
            Crc = entries.Maybe(crc),
            CrcOrder = entries.Get(order),
            CrcCoversHeader = entries.Get(covers),
            MaxLength = entries.Get(max),
        };
    });

    private static MapShape<FramingSpec> Adapter() => MapShape.Of<FramingSpec>(null, "a map with program and args", keys =>
    {
        var program = keys.Required("program", ProgramShapes.Program, "The program; with a slash: relative to this file, without: looked up in PATH.");
        var args = keys.Default("args", ProgramShapes.Arguments, "[]", "Its arguments; no shell.");
        return (entries, _) => new FramingSpec(FramingKind.Adapter) { Program = entries.Get(program), Arguments = entries.Get(args) };
    });

    private static Shape<ReadOnlyMemory<byte>> Bytes() => Shapes.Text("1 to 16 bytes in hexadecimal, such as \"A5 5A\"", "A5 5A").Select((text, node, reading) =>
    {
        string digits = text.Replace(" ", "", StringComparison.Ordinal);
        bool good = digits.Length is >= 2 and <= 32 && digits.Length % 2 == 0 && digits.All(char.IsAsciiHexDigit);
        if (!good)
        {
            reading.Refuse(node, node.Shown, "1 to 16 bytes in hexadecimal, such as \"A5 5A\"");
            return default;
        }
        byte[] bytes = new byte[digits.Length / 2];
        for (int i = 0; i < bytes.Length; i++) { bytes[i] = byte.Parse(digits.AsSpan(i * 2, 2), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture); }
        return new ReadOnlyMemory<byte>(bytes);
    });
}
