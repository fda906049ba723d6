using System.Globalization;

namespace HilRunner.Transport.Ports;

/// <summary>A serial port that is there now, as the system describes it; none is opened to find out.</summary>
/// <param name="Path">Device node, for instance /dev/ttyACM0; it may change when the board is plugged in again.</param>
/// <param name="Driver">Kernel driver; null when the system does not say.</param>
/// <param name="Usb">Null for ports that are not on USB.</param>
/// <param name="ByIdNames">Links below /dev/serial/by-id that lead to this port, in order.</param>
public sealed record PortInfo(string Path, string? Driver, UsbIdentity? Usb, IReadOnlyList<string> ByIdNames)
{
    /// <summary>What to write in a rig file: the USB identity where there is one, for it survives replugging; else the path.</summary>
    public string Selector => Usb?.Selector ?? Path;
}

/// <summary>How a USB device names itself.</summary>
/// <param name="VendorId">idVendor, 16 bits.</param>
/// <param name="ProductId">idProduct, 16 bits.</param>
/// <param name="Serial">Null: the device has no serial number and cannot be told from another of its kind.</param>
/// <param name="Interface">bInterfaceNumber; tells the ports of one device apart.</param>
public sealed record UsbIdentity(
    int VendorId, int ProductId, string? Serial, string? Manufacturer, string? Product, int? Interface)
{
    /// <summary>usb:vid:pid[:serial][:interface], as complete as it can be.</summary>
    public string Selector
    {
        get
        {
            string board = string.Create(CultureInfo.InvariantCulture, $"usb:{VendorId:x4}:{ProductId:x4}");
            string? rest = Interface is { } number ? Join(Serial, number) : Serial;
            return rest is null ? board : $"{board}:{rest}";
        }
    }

    internal static string Join(string? serial, int number)
    {
        string digits = number.ToString("x2", CultureInfo.InvariantCulture);
        return serial is null ? digits : $"{serial}:{digits}";
    }
}
