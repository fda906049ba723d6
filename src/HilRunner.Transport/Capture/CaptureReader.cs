using System.Buffers.Binary;
using HilRunner.Core;
using HilRunner.Core.Capture;
using HilRunner.Core.Files;
using HilRunner.Core.Time;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Transport.Capture;

/// <summary>
/// Reads the parts of a capture in order, also while the last one grows. Blocks of other types (a general tool may have added
/// comments) are passed over. Damage is bad input, with its place in bytes; a file that ends inside a block is not damage.
/// </summary>
internal sealed class CaptureReader : ICaptureReader
{
    private enum InterfaceKind { Other, Bytes, Events }

    private readonly string _path;
    private readonly List<InterfaceKind> _interfaces = [];
    private byte[] _buffer = new byte[64 * 1024];
    private int _start;
    private int _end;
    /// <summary>Where in the part the byte at <see cref="_end"/> of the buffer comes from.</summary>
    private long _filePosition;
    private SafeFileHandle _file;
    private int _part;
    private long _recordOffset;
    private bool _inSection;

    public CaptureReader(string path)
    {
        _path = path;
        _file = OpenPart(0);
    }

    public bool EndsInMidRecord { get; private set; }

    public BadInputException Damaged(string found, string expected) => Damage(_recordOffset, found, expected);

    public bool TryRead(out CaptureRecord record)
    {
        while (true)
        {
            if (!TryGetBlock(out ReadOnlyMemory<byte> block, out long offset))
            {
                if (TryNextPart()) { continue; }
                EndsInMidRecord = _end > _start;
                record = default;
                return false;
            }
            _recordOffset = offset;
            if (TryInterpret(block, offset, out record)) { return true; }
        }
    }

    public void Dispose() => _file.Dispose();

    private SafeFileHandle OpenPart(int part) =>
        PlainFile.OpenHandle(CaptureParts.PathOf(_path, part));

    /// <summary>
    /// The writer finishes a part before it begins the next, so once the next exists nothing more is added to this one; but it may
    /// have been finished since the last look, hence the second look.
    /// </summary>
    private bool TryNextPart()
    {
        if (!PlainFile.IsThere(CaptureParts.PathOf(_path, _part + 1))) { return false; }
        if (Fill()) { return true; }
        if (_end > _start) { throw Damage(BlockOffset, "the part ends inside a block although another part follows"); }
        SafeFileHandle next = OpenPart(_part + 1);
        _file.Dispose();
        _file = next;
        _part++;
        (_start, _end, _filePosition, _inSection) = (0, 0, 0, false);
        return true;
    }

    private long BlockOffset => _filePosition - (_end - _start);

    /// <summary>The next whole block, or false when the file does not hold it (yet).</summary>
    private bool TryGetBlock(out ReadOnlyMemory<byte> block, out long offset)
    {
        block = default;
        offset = BlockOffset;
        if (!Ensure(8)) { return false; }
        uint type = U32(_start);
        long length = U32(_start + 4);
        if (type == PcapNg.SectionHeader)
        {
            if (!Ensure(12)) { return false; }
            uint magic = U32(_start + 8);
            if (magic != PcapNg.ByteOrderMagic)
            {
                throw Damage(offset, magic == BinaryPrimitives.ReverseEndianness(PcapNg.ByteOrderMagic)
                    ? "the section is big-endian"
                    : $"byte-order magic {magic:X8}",
                    $"a little-endian section, as this tool writes: {PcapNg.ByteOrderMagic:X8}");
            }
        }
        else if (!_inSection) { throw Damage(offset, $"block type {type:X8}: this is no pcapng file", "a section header"); }
        if (length < 12 || length % 4 != 0 || length > PcapNg.LargestBlock)
        {
            throw Damage(offset, $"a block of {length} bytes", $"12 to {PcapNg.LargestBlock}, a multiple of 4");
        }
        if (!Ensure((int)length)) { return false; }
        uint trailer = U32(_start + (int)length - 4);
        if (trailer != length)
        {
            throw Damage(offset, $"a block that begins with length {length} and ends with {trailer}", "the same twice");
        }
        block = _buffer.AsMemory(_start, (int)length);
        _start += (int)length;
        return true;
    }

    /// <summary>Takes in what the block says; true when it is a record.</summary>
    private bool TryInterpret(ReadOnlyMemory<byte> block, long offset, out CaptureRecord record)
    {
        record = default;
        ReadOnlySpan<byte> span = block.Span;
        switch (BinaryPrimitives.ReadUInt32LittleEndian(span))
        {
            case PcapNg.SectionHeader:
                _inSection = true;
                _interfaces.Clear();
                return false;
            case PcapNg.InterfaceDescription:
                _interfaces.Add(Interface(span, offset));
                return false;
            case PcapNg.EnhancedPacket:
                return TryPacket(block, offset, out record);
            default:
                return false;
        }
    }

    private InterfaceKind Interface(ReadOnlySpan<byte> block, long offset)
    {
        if (block.Length < 20) { throw Damage(offset, "an interface description that is too short"); }
        InterfaceKind kind = BinaryPrimitives.ReadUInt16LittleEndian(block[8..]) switch
        {
            PcapNg.LinkTypeBytes => InterfaceKind.Bytes,
            PcapNg.LinkTypeEvents => InterfaceKind.Events,
            _ => InterfaceKind.Other,
        };
        bool nanoseconds = TryFindOption(block, 16, PcapNg.OptionTimeResolution, offset, out ReadOnlySpan<byte> value)
            && value.Length == 1 && value[0] == PcapNg.Nanoseconds;
        return kind == InterfaceKind.Other || nanoseconds
            ? kind
            : throw Damage(offset, "an interface without nanosecond times", "if_tsresol 9, as this tool writes");
    }

    private bool TryPacket(ReadOnlyMemory<byte> block, long offset, out CaptureRecord record)
    {
        record = default;
        ReadOnlySpan<byte> span = block.Span;
        if (span.Length < PcapNg.EnhancedPacketHeader + 4) { throw Damage(offset, "a packet block that is too short"); }
        uint id = BinaryPrimitives.ReadUInt32LittleEndian(span[8..]);
        if (id >= _interfaces.Count) { throw Damage(offset, $"a packet of interface {id}; {_interfaces.Count} are described"); }
        if (_interfaces[(int)id] == InterfaceKind.Other) { return false; }
        ulong unixNs = (ulong)BinaryPrimitives.ReadUInt32LittleEndian(span[12..]) << 32 | BinaryPrimitives.ReadUInt32LittleEndian(span[16..]);
        uint captured = BinaryPrimitives.ReadUInt32LittleEndian(span[20..]);
        if (captured > span.Length - PcapNg.EnhancedPacketHeader - 4)
        {
            throw Damage(offset, $"a packet of {captured} bytes in a block of {span.Length}");
        }
        if (captured != BinaryPrimitives.ReadUInt32LittleEndian(span[24..]))
        {
            throw Damage(offset, "a packet that was cut short when it was captured", "whole ones");
        }
        ReadOnlyMemory<byte> data = block.Slice(PcapNg.EnhancedPacketHeader, (int)captured);
        if (unixNs > RunEvent.LatestUnixNs)
        {
            throw Damage(offset, $"a time of {unixNs} ns since 1970", "one before the year 2200");
        }
        var at = new HostTime((long)unixNs);
        if (_interfaces[(int)id] == InterfaceKind.Events)
        {
            try { record = new(CaptureKind.Event, at, default, EventText.Parse(data.Span)); }
            catch (FormatException exception) { throw Damage(offset, exception.Message); }
            return true;
        }
        int options = PcapNg.EnhancedPacketHeader + PcapNg.Padded((int)captured);
        uint direction = TryFindOption(span, options, PcapNg.OptionPacketFlags, offset, out ReadOnlySpan<byte> flags) && flags.Length == 4
            ? BinaryPrimitives.ReadUInt32LittleEndian(flags) & PcapNg.DirectionMask
            : 0;
        record = direction switch
        {
            PcapNg.Inbound => new(CaptureKind.FromDevice, at, data, null),
            PcapNg.Outbound => new(CaptureKind.ToDevice, at, data, null),
            _ => throw Damage(offset, "a packet of bytes without a direction", "epb_flags inbound or outbound"),
        };
        return true;
    }

    private bool TryFindOption(ReadOnlySpan<byte> block, int from, ushort code, long offset, out ReadOnlySpan<byte> value)
    {
        value = default;
        ReadOnlySpan<byte> options = from < block.Length - 4 ? block[from..^4] : [];
        while (options.Length >= 4)
        {
            ushort found = BinaryPrimitives.ReadUInt16LittleEndian(options);
            int length = BinaryPrimitives.ReadUInt16LittleEndian(options[2..]);
            if (found == PcapNg.OptionEnd) { return false; }
            if (4 + PcapNg.Padded(length) > options.Length) { throw Damage(offset, "an option that is longer than its block"); }
            if (found == code)
            {
                value = options.Slice(4, length);
                return true;
            }
            options = options[(4 + PcapNg.Padded(length))..];
        }
        return false;
    }

    private bool Ensure(int bytes)
    {
        while (_end - _start < bytes)
        {
            if (_buffer.Length - _start < bytes)
            {
                byte[] target = bytes > _buffer.Length ? new byte[Math.Max(bytes, 2 * _buffer.Length)] : _buffer;
                _buffer.AsSpan(_start, _end - _start).CopyTo(target);
                (_buffer, _end, _start) = (target, _end - _start, 0);
            }
            if (!Fill()) { return false; }
        }
        return true;
    }

    /// <summary>Reads on; false when the file holds nothing more so far.</summary>
    private bool Fill()
    {
        if (_end == _buffer.Length)
        {
            _buffer.AsSpan(_start, _end - _start).CopyTo(_buffer);
            (_end, _start) = (_end - _start, 0);
        }
        int read = RandomAccess.Read(_file, _buffer.AsSpan(_end), _filePosition);
        _end += read;
        _filePosition += read;
        return read > 0;
    }

    private uint U32(int at) => BinaryPrimitives.ReadUInt32LittleEndian(_buffer.AsSpan(at));

    private BadInputException Damage(long offset, string found, string expected = "a capture as hil run wrote it") =>
        new([new(CaptureParts.PathOf(_path, _part), 0,
            0, FormattableString.Invariant($"damaged at byte {offset}: {found}"), expected)]);
}
